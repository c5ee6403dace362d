"""Trappoint: signalling plans of model railways, checked on paper.

``check`` reads a plan and reports whether it holds; ``load`` reads it into a ``Layout``;
``locking`` derives its locking table; ``board_files`` lists the files of its boards; ``draw`` draws
the diagram; ``propose`` proposes signals. Everything is imported when it is first used, because a
check that is slow to start is a check that is switched off.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.version import __version__

if TYPE_CHECKING:
    from trappoint.boards.assembly import Board
    from trappoint.checking.check import Report, board_files, check, load, locking
    from trappoint.core.errors import PlanError
    from trappoint.core.findings import Finding
    from trappoint.drawing.diagram import Diagram, draw
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Layout
    from trappoint.proposing.proposal import Proposal, propose
    from trappoint.source.files import Files, FilesAtHand, FilesOnDisk, OutOfReach
    from trappoint.source.reading import UnusableFile


__all__ = [
    "Board",
    "Diagram",
    "Files",
    "FilesAtHand",
    "FilesOnDisk",
    "Finding",
    "Layout",
    "LockingTable",
    "OutOfReach",
    "PlanError",
    "Proposal",
    "Report",
    "UnusableFile",
    "__version__",
    "board_files",
    "check",
    "draw",
    "load",
    "locking",
    "propose",
]

_HOMES = {
    "Board": "boards.assembly",
    "Diagram": "drawing.diagram",
    "Files": "source.files",
    "FilesAtHand": "source.files",
    "FilesOnDisk": "source.files",
    "Finding": "core.findings",
    "Layout": "model.layout",
    "LockingTable": "interlocking.locking_table",
    "OutOfReach": "source.files",
    "PlanError": "core.errors",
    "Proposal": "proposing.proposal",
    "Report": "checking.check",
    "UnusableFile": "source.reading",
    "board_files": "checking.check",
    "check": "checking.check",
    "draw": "drawing.diagram",
    "load": "checking.check",
    "locking": "checking.check",
    "propose": "proposing.proposal",
}
"""From each public name to the module that holds it."""


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
