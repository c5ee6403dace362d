"""Locking tables as Markdown, with tables as most forges show them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.reporting.matrix import conflict_letters, holding_arms, legend
from trappoint.reporting.wording import (
    GRANTED,
    by_what,
    conditions_of,
    count_pairs,
    named_id,
    never_with,
    tell_condition,
    tell_lies,
    verdict_of_table,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.core.terminal import RenderOptions
    from trappoint.interlocking.conflicts import By
    from trappoint.interlocking.locking_table import ArmEntry, LockingTable

_SPECIAL = re.compile(r"([\\`*_\[\]<>#|~&])")
"""Characters that Markdown reads as markup inside a line. Escaped text never begins a line."""


def render(table: LockingTable, title: str, look: RenderOptions) -> str:
    """Return a page: the verdict, the signals, the arms, and the square of conflicts."""
    sees = by_what(table)
    parts = [
        f"# Locking table of {escape(title)}",
        f"**{verdict_of_table(table.holds, table.longest_train)}** {count_pairs(table)}",
        "## What each signal is there for",
        _grid(
            ("Signal", "Duties"),
            (
                (escape(named_id(s.signal, s.name)), escape("; ".join(s.duties)))
                for s in table.signals
            ),
        ),
        "## What each arm gives leave for",
        _grid(
            (
                "Arm",
                "Signal",
                "Meaning",
                "Points",
                f"Never off with: {sees['points']}",
                f"Never off with: {sees['direct']}",
                "Not off with, in certain lies",
            ),
            (_row(entry, sees) for entry in table.arms),
        ),
        "## Which arms conflict",
        legend(table),
        _square(table),
        f"## {GRANTED}",
        "\n".join(f"- {escape(sentence)}" for sentence in table.takes_for_granted),
        f"*{CAUTION}*",
    ]
    return "\n\n".join(parts) + "\n"


def escape(text: str) -> str:
    """Return a text that Markdown shows unchanged, in a heading or in a cell."""
    return _SPECIAL.sub(r"\\\1", " ".join(text.split()))


def _row(entry: ArmEntry, sees: Mapping[By, str]) -> tuple[str, ...]:
    kind = "" if entry.kind == "stop" else f" ({entry.kind})"
    conditions = (f"{c.arm} while {tell_condition(c)} ({sees[c.by]})" for c in conditions_of(entry))
    cells = (
        named_id(entry.arm, entry.name) + kind,
        entry.signal,
        entry.meaning,
        "; or ".join(tell_lies(route.points) or "none" for route in entry.routes),
        ", ".join(never_with(entry, "points")),
        ", ".join(never_with(entry, "direct")),
        "; ".join(conditions),
    )
    return tuple(map(escape, cells))


def _square(table: LockingTable) -> str:
    arms = holding_arms(table)
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
