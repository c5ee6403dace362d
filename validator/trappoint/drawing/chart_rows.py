"""Rows for the tables of the signal chart, shared by HTML and PDF.

Cells are escaped markup. ``<b>`` marks arms that no points keep apart: the locking sees to it, or
the operator must.
"""

from __future__ import annotations

from itertools import groupby
from math import ceil
from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.paper import LETTERS
from trappoint.drawing.svg_elements import safe
from trappoint.drawing.text_width import width_of
from trappoint.model.names import Names, with_id
from trappoint.reporting.matrix import conflict_letters, holding_arms
from trappoint.reporting.wording import conditions_of, never_with, tell_condition, tell_lies

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.interlocking.locking_table import ArmEntry, LockingTable
    from trappoint.model.layout import Layout

Rows = list[list[str]]

LARGEST, SMALLEST = 32, round(LETTERS * 10)
"""The largest and the smallest type of the square of conflicts, in tenths of a millimetre."""

MOST_NAMES = 40
"""The most arms whose names stand in the square of conflicts; for more, their ids."""


def arm_rows(layout: Layout, table: LockingTable) -> tuple[list[str], Rows]:
    """Return headings, and a row for each arm: name, lever, meaning, points, never off with."""
    names = Names(layout)
    levers = {arm: lever.number for lever in layout.levers.values() for arm in lever.arms}
    rows = []
    for entry in table.arms:
        row = [safe(names.called("arms", entry.arm))]
        if levers:
            lever = levers.get(entry.arm)
            row.append("" if lever is None else safe(names.called("levers", lever)))
        rows.append([*row, safe(entry.meaning), safe(_points(names, entry)), _never(names, entry)])
    lever_head = ["Lever"] if levers else []
    return ["Arm", *lever_head, "What it gives leave for", "Points", "Never off with"], rows


def called_switch(names: Names, switch: str) -> str:
    """Return the name and the id of points or of a slip."""
    return with_id(names.name("points", switch) or names.name("crossings", switch), switch)


def _lies(names: Names, lies: Mapping[str, str]) -> str:
    return tell_lies({called_switch(names, switch): lie for switch, lie in lies.items()})


def _points(names: Names, entry: ArmEntry) -> str:
    ways = dict.fromkeys(_lies(names, route.points) for route in entry.routes)
    return "; or ".join(ways) or "none"


def _never(names: Names, entry: ArmEntry) -> str:
    plain, bold = (_grouped(names, never_with(entry, by)) for by in ("points", "direct"))
    parts = [safe(arm) for arm in plain] + [f"<b>{safe(arm)}</b>" for arm in bold]
    text = ", ".join(parts)
    for conflict in conditions_of(entry):
        arm = safe(names.called("arms", conflict.arm))
        arm = f"<b>{arm}</b>" if conflict.by == "direct" else arm
        when = {called_switch(names, switch): lie for switch, lie in (conflict.when or {}).items()}
        condition = tell_condition(conflict._replace(when=when))
        text += f"{'; ' if text else ''}{arm} while {safe(condition)}"
    return text or "\u2013"


def _grouped(names: Names, arms: Iterable[str]) -> list[str]:
    """Return names with the ids of neighbours that share them: ``Down homes (3A, 3B)``."""
    groups = groupby(arms, key=lambda arm: names.name("arms", arm))
    return [
        text for name, ids in groups for text in ([with_id(name, ", ".join(ids))] if name else ids)
    ]


def crossover_rows(layout: Layout) -> Rows:
    """Return a row for each list of switches worked together: names, normal lies, reverse lies."""
    names = Names(layout)
    rows = []
    for members in layout.worked_together:
        switches = [switch for switch in map(layout.switch, members) if switch is not None]
        normal = _lies(names, {switch.id: switch.normal or "" for switch in switches})
        reverse = _lies(names, {switch.id: switch.reverse or "" for switch in switches})
        together = " and ".join(called_switch(names, switch) for switch in members)
        rows.append([safe(together), safe(normal), safe(reverse)])
    return rows


def matrix_rows(table: LockingTable) -> tuple[list[str], list[list[str]]]:
    """Return the ids of the arms of the square, and for each the letters of its conflicts.

    Unlike the other rows these are plain text.
    """
    arms = holding_arms(table)
    letters = conflict_letters(table)
    return arms, [
        ["=" if one == two else letters.get((one, two), "") for two in arms] for one in arms
    ]


class Block(NamedTuple):
    """A part of the square of conflicts: all of its rows, and some of its columns."""

    start: int
    stop: int
    """The columns from ``start`` up to ``stop``, not included."""
    head: float
    """The width of the names of the rows, in millimetres."""
    cell: float
    """The width of a column, in millimetres."""
    type: float
    """The size of the letters, in millimetres."""


def square_heads(layout: Layout, arms: list[str]) -> list[str]:
    """Return a head for each row of the square: the arm's name; its id if there are many arms."""
    names = Names(layout)
    return arms if len(arms) > MOST_NAMES else [names.called("arms", arm) for arm in arms]


def blocks_of(heads: list[str], room: float) -> list[Block]:
    """Divide a square with these heads of rows into blocks that fit a width in millimetres."""
    longest = max((width_of(head, 1.0, bold=True) for head in heads), default=1.0)
    for each in _even_parts(len(heads)):
        for tenths in range(LARGEST, SMALLEST - 1, -1):
            size = tenths / 10
            head = longest * size + 2
            cell = min((room - head) / each, size * 2.2)
            if cell >= size * 1.2 or each == 1:
                starts = range(0, len(heads), each)
                return [Block(n, min(n + each, len(heads)), head, cell, size) for n in starts]
    return []


def _even_parts(count: int) -> list[int]:
    """Return the length of the parts of one whole, of two halves, of three thirds and so on."""
    return list(dict.fromkeys(ceil(count / parts) for parts in range(1, count + 1)))
