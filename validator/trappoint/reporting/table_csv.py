"""Locking tables for spreadsheets: comma-separated values (RFC 4180), one row for each arm.

RFC 4180 has no comments, so the caution is only on the pages that offer this format.
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from trappoint.core.csv_cells import safe_cell
from trappoint.reporting.wording import (
    by_what,
    conditions_of,
    never_with,
    tell_condition,
    tell_lies,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.core.terminal import RenderOptions
    from trappoint.interlocking.conflicts import By
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
"""The columns. `` | `` separates the values of an arm's routes, everywhere in the same order."""


def render(table: LockingTable, title: str, look: RenderOptions) -> str:
    """Return the table with a row of headings. Lines end with CR LF, as the standard requires."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    sees = by_what(table)
    writer.writerows([safe_cell(text) for text in _row(entry, sees)] for entry in table.arms)
    return out.getvalue()


def _row(entry: ArmEntry, sees: Mapping[By, str]) -> list[str]:
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
            f"{c.arm} while {tell_condition(c)} ({sees[c.by]})" for c in conditions_of(entry)
        ),
    ]
