"""Locking tables as text: the signals with their duties, then each arm."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.reporting.wording import (
    GRANTED,
    by_what,
    conditions_of,
    count_pairs,
    never_with,
    tell_condition,
    tell_route,
    verdict_of_table,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.core.terminal import RenderOptions
    from trappoint.interlocking.conflicts import By
    from trappoint.interlocking.locking_table import ArmEntry, LockingTable


def render(table: LockingTable, title: str, look: RenderOptions) -> str:
    """Return the table as text, wrapped to the width of ``look``."""
    lines = [*_heading(look, f"Locking table of {title}", "="), ""]
    lines += _heading(look, "What each signal is there for", "-")
    if not table.signals:
        lines.append("  There are no signals.")
    for signal in table.signals:
        duties = "; ".join(signal.duties) or "no duty that follows from the track"
        name = f"{signal.name}: " if signal.name else ""
        lines += look.wrap(f"{name}{duties}", f"  {signal.signal:<4}  ")
    if table.arms:
        lines += ["", *_heading(look, "What each arm gives leave for", "-")]
    for entry in table.arms:
        lines += [*_arm(entry, by_what(table), look), ""]
    lines += look.wrap(count_pairs(table))
    kind = "good" if table.holds else "error"
    lines += [
        look.paint(line, kind)
        for line in look.wrap(verdict_of_table(table.holds, table.longest_train))
    ]
    lines += [f"{GRANTED}:"]
    for sentence in table.takes_for_granted:
        lines += look.wrap(sentence, "  - ")
    lines += [look.paint(line, "faint") for line in look.wrap(CAUTION)]
    return "\n".join(lines) + "\n"


def _heading(look: RenderOptions, text: str, line: str) -> list[str]:
    title = look.wrap(text)
    return [*(look.paint(part, "strong") for part in title), line * max(map(len, title))]


def _arm(entry: ArmEntry, sees: Mapping[By, str], look: RenderOptions) -> list[str]:
    kind = "" if entry.kind == "stop" else f", {entry.kind}"
    name = f"{entry.name} " if entry.name else ""
    heading = look.wrap(f"{name}(signal {entry.signal}{kind})", f"{entry.arm}  ")
    lines = [look.paint(line, "strong") for line in heading]
    lines += look.wrap(entry.meaning, "  ")
    for route in entry.routes:
        lines += look.wrap(tell_route(route), "  route  ")
    for by, what in sees.items():
        others = never_with(entry, by)
        if others:
            lines += look.wrap(f"{', '.join(others)} ({what})", "  never off with  ")
    for conflict in conditions_of(entry):
        lines += look.wrap(
            f"{conflict.arm} while {tell_condition(conflict)} ({sees[conflict.by]})",
            "  not off with    ",
        )
    return lines
