"""Trappoint: signalling plans of model railways, checked on paper.

``check`` reads a plan and reports whether it holds; ``load`` reads it into a ``Layout``;
``locking`` derives its locking table; ``board_files`` lists the files of its boards. Everything is
imported when it is first used, because a check that is slow to start is a check that is switched
off.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.assembling import Board
    from trappoint.checking import PlanError, Report, board_files, check, load, locking
    from trappoint.files import Files, FilesAtHand, FilesOnDisk, OutOfReach
    from trappoint.findings import Finding
    from trappoint.layout import Layout
    from trappoint.locking_table import LockingTable
    from trappoint.reading import UnusableFile

__version__ = "0.1.0"

__all__ = [
    "Board",
    "Files",
    "FilesAtHand",
    "FilesOnDisk",
    "Finding",
    "Layout",
    "LockingTable",
    "OutOfReach",
    "PlanError",
    "Report",
    "UnusableFile",
    "__version__",
    "board_files",
    "check",
    "load",
    "locking",
]

_HOMES = {
    "Board": "assembling",
    "Files": "files",
    "FilesAtHand": "files",
    "FilesOnDisk": "files",
    "Finding": "findings",
    "Layout": "layout",
    "LockingTable": "locking_table",
    "OutOfReach": "files",
    "PlanError": "checking",
    "Report": "checking",
    "UnusableFile": "reading",
    "board_files": "checking",
    "check": "checking",
    "load": "checking",
    "locking": "checking",
}


def __getattr__(name: str) -> object:
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    value = getattr(import_module(f"{__name__}.{home}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
