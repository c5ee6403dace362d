"""Locking tables for documents: Markdown with tables, as most forges show them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.reporting.matrix import LEGEND, conflict_letters, stop_arms
from trappoint.reporting.wording import (
    BY_WHAT,
    GRANTED,
    conditions_of,
    count_pairs,
    never_with,
    tell_condition,
    tell_lies,
    verdict_of_table,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.terminal import RenderOptions
    from trappoint.interlocking.locking_table import ArmEntry, LockingTable

_SPECIAL = re.compile(r"([\\`*_\[\]<>#|~&])")
"""Signs that mean something inside a line. What is escaped never begins one."""


def render(table: LockingTable, title: str, look: RenderOptions) -> str:
    """Return a page: the verdict, the signals, the arms, and the square of conflicts."""
    parts = [
        f"# Locking table of {escape(title)}",
        f"**{verdict_of_table(table.holds, table.longest_train)}** {count_pairs(table)}",
        "## What each signal is there for",
        _grid(
            ("Signal", "Duties"),
            ((escape(s.signal), escape("; ".join(s.duties))) for s in table.signals),
        ),
        "## What each arm gives leave for",
        _grid(
            (
                "Arm",
                "Signal",
                "Meaning",
                "Points",
                "Never off with, by the points",
                "Never off with, by the locking alone",
                "Not off with, in certain lies",
            ),
            map(_row, table.arms),
        ),
        "## Which arms conflict",
        LEGEND,
        _square(table),
        f"## {GRANTED}",
        "\n".join(f"- {escape(said)}" for said in table.takes_for_granted),
        f"*{CAUTION}*",
    ]
    return "\n\n".join(parts) + "\n"


def escape(text: str) -> str:
    """Return a text that Markdown shows as it stands, in a heading or in a cell."""
    return _SPECIAL.sub(r"\\\1", " ".join(text.split()))


def _row(entry: ArmEntry) -> tuple[str, ...]:
    kind = "" if entry.kind == "stop" else f" ({entry.kind})"
    conditions = (
        f"{c.arm} while {tell_condition(c)} ({BY_WHAT[c.by]})" for c in conditions_of(entry)
    )
    cells = (
        entry.arm + kind,
        entry.signal,
        entry.meaning,
        "; or ".join(tell_lies(route.points) or "none" for route in entry.routes),
        ", ".join(never_with(entry, "points")),
        ", ".join(never_with(entry, "direct")),
        "; ".join(conditions),
    )
    return tuple(map(escape, cells))


def _square(table: LockingTable) -> str:
    arms = stop_arms(table)
    letters = conflict_letters(table)
    rows = (
        (
            f"**{escape(one)}**",
            *("=" if one == two else letters.get((one, two), "") for two in arms),
        )
        for one in arms
    )
    return _grid(("", *map(escape, arms)), rows)


def _grid(headings: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    heads = list(headings)
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)
