"""Rows for the tables of the signal chart, shared by HTML and PDF.

Cells are escaped markup. ``<b>`` marks arms that no points keep apart: the locking sees to it, or
the operator must.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.drawing.svg_elements import safe
from trappoint.model.names import Names
from trappoint.reporting.matrix import conflict_letters, stop_arms
from trappoint.reporting.wording import conditions_of, never_with, tell_condition, tell_lies

if TYPE_CHECKING:
    from trappoint.interlocking.locking_table import ArmEntry, LockingTable
    from trappoint.model.layout import Layout, Scene

Rows = list[list[str]]


def arm_rows(layout: Layout, table: LockingTable) -> tuple[list[str], Rows]:
    """Return headings, and a row for each arm: id, lever, meaning, points, never off with.

    The meaning begins with the name of the signal, if it has one.
    """
    levers = {arm: lever.number for lever in layout.levers.values() for arm in lever.arms}
    rows = []
    for entry in table.arms:
        row = [safe(entry.arm)]
        if levers:
            row.append(safe(levers.get(entry.arm, "")))
        signal = layout.signals.get(entry.signal)  # None for one on the neighbouring board
        name = "" if signal is None else signal.name
        meaning = f"<i>{safe(name)}</i>. {safe(entry.meaning)}" if name else safe(entry.meaning)
        rows.append([*row, meaning, safe(_points(entry)), _never(entry)])
    lever = ["Lever"] if levers else []
    return ["Arm", *lever, "What it gives leave for", "Points", "Never off with"], rows


def _points(entry: ArmEntry) -> str:
    return "; or ".join(dict.fromkeys(tell_lies(route.points) for route in entry.routes)) or "none"


def _never(entry: ArmEntry) -> str:
    parts = [safe(arm) for arm in never_with(entry, "points")]
    parts += [f"<b>{safe(arm)}</b>" for arm in never_with(entry, "direct")]
    text = ", ".join(parts)
    for conflict in conditions_of(entry):
        arm = safe(conflict.arm)
        arm = f"<b>{arm}</b>" if conflict.by == "direct" else arm
        text += f"{'; ' if text else ''}{arm} while {safe(tell_condition(conflict))}"
    return text or "\u2013"


def crossover_rows(layout: Layout) -> Rows:
    """Return a row for each list of switches worked together: ids, normal lies, reverse lies."""
    rows = []
    for members in layout.worked_together:
        switches = [switch for switch in map(layout.switch, members) if switch is not None]
        normal = ", ".join(f"{switch.id} {switch.normal}" for switch in switches)
        reverse = ", ".join(f"{switch.id} {switch.reverse}" for switch in switches)
        rows.append([safe(" and ".join(members)), safe(normal), safe(reverse)])
    return rows


def matrix_rows(table: LockingTable) -> tuple[list[str], Rows]:
    """Return the stop arms, and a row for each: its id, then its conflict with every arm."""
    arms = stop_arms(table)
    letters = conflict_letters(table)
    rows = [
        [safe(one), *("=" if one == two else letters.get((one, two), "") for two in arms)]
        for one in arms
    ]
    return arms, rows


def scene_rows(layout: Layout) -> Rows:
    """Return a row for each scene: name, points not normal, arms off, trains."""
    return [[safe(text) for text in _scene(layout, scene)] for scene in layout.scenes.values()]


def _scene(layout: Layout, scene: Scene) -> list[str]:
    names = Names(layout)
    trains = []
    for place, train in scene.trains.items():
        name = names.name("trains", str(train)) or ("a train" if train is True else str(train))
        trains.append(f"{name} at {names.called('tracks', place)}")
    return [
        f"{scene.name} ({scene.id})" if scene.name else scene.id,
        ", ".join(f"{name} {lie}" for name, lie in scene.points.items()) or "none",
        ", ".join(scene.off) or "none",
        "; ".join(trains) or "none",
    ]
