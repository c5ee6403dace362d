"""Trappoint: signalling plans of model railways, checked on paper.

``check`` reads a plan and reports whether it holds; ``load`` reads it into a ``Layout``;
``locking`` derives its locking table; ``board_files`` lists the files of its boards; ``draw`` draws
the diagram; ``propose`` proposes signals. Each name is imported on first use: people switch off a
check that is slow to start.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.by_name import PUBLIC_NAMES, import_by_name
from trappoint.core.version import __version__

if TYPE_CHECKING:
    from trappoint.boards.assembly import Board
    from trappoint.checking.check import board_files, check, load, locking
    from trappoint.checking.report import Report
    from trappoint.core.errors import PlanError
    from trappoint.core.findings import Finding
    from trappoint.drawing.diagram import Diagram, draw
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Layout
    from trappoint.proposing.proposal import Proposal, propose
    from trappoint.source.files import Files, FilesAtHand, FilesOnDisk
    from trappoint.source.opening import OutOfReach
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


def __getattr__(name: str) -> object:
    if name not in PUBLIC_NAMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value: object = getattr(import_by_name(PUBLIC_NAMES, name), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
