"""The reporters: functions that turn the reports of checks, or a locking table, into text.

A reporter has a name. It takes reports and yields pieces of text; nothing here prints.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from trappoint.core.by_name import REPORTERS, TABLE_REPORTERS, import_by_name
from trappoint.core.terminal import RenderOptions

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.checking.report import FileReport
    from trappoint.interlocking.locking_table import LockingTable

__all__ = [
    "REPORTERS",
    "TABLE_REPORTERS",
    "Reporter",
    "TableReporter",
    "reporter",
    "table_reporter",
]


class Reporter(Protocol):
    """Renders reports of checks. Each piece is complete lines."""

    def __call__(self, reports: Iterable[FileReport], look: RenderOptions) -> Iterator[str]:
        """Yield the text, piece by piece, as the reports come in."""


class TableReporter(Protocol):
    """Renders a locking table."""

    def __call__(self, table: LockingTable, title: str, look: RenderOptions) -> str:
        """Return the text. ``title`` is the title of the plan."""


def reporter(name: str) -> Reporter:
    """Return the reporter of this name. Raises KeyError if there is none."""
    found: Reporter = import_by_name(REPORTERS, name).render
    return found


def table_reporter(name: str) -> TableReporter:
    """Return the reporter of locking tables of this name. Raises KeyError if there is none."""
    found: TableReporter = import_by_name(TABLE_REPORTERS, name).render
    return found
