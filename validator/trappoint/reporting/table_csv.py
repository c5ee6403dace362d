"""Locking tables for spreadsheets: comma-separated values (RFC 4180), one row for each arm."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from trappoint.reporting.wording import (
    BY_WHAT,
    conditions_of,
    never_with,
    tell_condition,
    tell_lies,
)

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.interlocking.locking_table import ArmEntry, LockingTable

COLUMNS = (
    "arm",
    "signal",
    "kind",
    "duties",
    "meaning",
    "from",
    "over",
    "ends_at",
    "points",
    "never_with_by_points",
    "never_with_by_locking",
    "conditional",
)
"""The columns. Where an arm has several routes, theirs are parted by `` | ``, in one order."""

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
"""What a spreadsheet takes for the beginning of a formula."""


def render(table: LockingTable, title: str, look: RenderOptions) -> str:
    """Return the table with a row of headings. Lines end with CR LF, as the standard asks."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows([safe_cell(text) for text in _row(entry)] for entry in table.arms)
    return out.getvalue()


def safe_cell(text: str) -> str:
    """Return a cell that no spreadsheet takes for a formula: an apostrophe goes before those.

    Source: OWASP, CSV Injection.
    """
    return f"'{text}" if text.startswith(_FORMULA) else text


def _row(entry: ArmEntry) -> list[str]:
    return [
        entry.arm,
        entry.signal,
        entry.kind,
        "; ".join(entry.duties),
        entry.meaning,
        " | ".join(route.start for route in entry.routes),
        " | ".join(", ".join(route.over) for route in entry.routes),
        " | ".join(route.ends_at for route in entry.routes),
        " | ".join(tell_lies(route.points) for route in entry.routes),
        ", ".join(never_with(entry, "points")),
        ", ".join(never_with(entry, "direct")),
        "; ".join(
            f"{c.arm} while {tell_condition(c)} ({BY_WHAT[c.by]})" for c in conditions_of(entry)
        ),
    ]
