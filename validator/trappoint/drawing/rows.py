"""The rows of the tables on the sheet for the wall: the same in HTML and in PDF.

Cells are escaped already; ``<b>`` stands round what only the locking sees to.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.drawing.svg_elements import safe
from trappoint.reporting.matrix import conflict_letters, stop_arms
from trappoint.reporting.wording import conditions_of, never_with, tell_condition, tell_lies

if TYPE_CHECKING:
    from trappoint.interlocking.locking_table import ArmEntry, LockingTable
    from trappoint.model.layout import Layout, Scene

Rows = list[list[str]]


def arm_rows(layout: Layout, table: LockingTable) -> tuple[list[str], Rows]:
    """Return headings, and a row for each arm: id, lever, meaning, points, never off with.

    The meaning begins with what the signal is called, where it has a name.
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
    return ["Arm", *lever, "What it gives leave to do", "Points", "Never off with"], rows


def _points(entry: ArmEntry) -> str:
    return "; or ".join(dict.fromkeys(tell_lies(route.points) for route in entry.routes)) or "none"


def _never(entry: ArmEntry) -> str:
    parts = [safe(arm) for arm in never_with(entry, "points")]
    parts += [f"<b>{safe(arm)}</b>" for arm in never_with(entry, "direct")]
    told = ", ".join(parts)
    for conflict in conditions_of(entry):
        arm = safe(conflict.arm)
        arm = f"<b>{arm}</b>" if conflict.by == "direct" else arm
        told += f"{'; ' if told else ''}{arm} while {safe(tell_condition(conflict))}"
    return told or "\u2013"


def crossover_rows(layout: Layout) -> Rows:
    """Return a row for each list of switches worked together: which, normal, reverse."""
    rows = []
    for members in layout.worked_together:
        switches = [switch for switch in map(layout.switch, members) if switch is not None]
        normal = ", ".join(f"{switch.id} {switch.normal}" for switch in switches)
        reverse = ", ".join(f"{switch.id} {switch.reverse}" for switch in switches)
        rows.append([safe(" and ".join(members)), safe(normal), safe(reverse)])
    return rows


def matrix_rows(table: LockingTable) -> tuple[list[str], Rows]:
    """Return the stop arms, and the square of their conflicts with the arm before each row."""
    arms = stop_arms(table)
    letters = conflict_letters(table)
    rows = [
        [safe(one), *("=" if one == two else letters.get((one, two), "") for two in arms)]
        for one in arms
    ]
    return arms, rows


def scene_rows(layout: Layout) -> Rows:
    """Return a row for each scene: name, points that are not normal, arms off, trains."""
    return [[safe(text) for text in _scene(layout, scene)] for scene in layout.scenes.values()]


def _scene(layout: Layout, scene: Scene) -> list[str]:
    trains = []
    for place, who in scene.trains.items():
        train = layout.trains.get(str(who))
        name = "a train" if train is None and who is True else str(who)
        trains.append(f"{place}: {(train.name or train.id) if train is not None else name}")
    return [
        f"{scene.name} ({scene.id})" if scene.name else scene.id,
        ", ".join(f"{name} {lie}" for name, lie in scene.points.items()) or "none",
        ", ".join(scene.off) or "no arm",
        "; ".join(trains) or "none",
    ]
