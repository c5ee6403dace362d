"""The work of each lever of a plan, and the positions of levers that a route needs."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import listed
from trappoint.lever_frame.clauses import Effort
from trappoint.lever_frame.frame import FrameLever
from trappoint.model.layout import Points

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.facts.facts import Facts
    from trappoint.lever_frame.frame import Works
    from trappoint.model.layout import Layout, Lever


EACH_NAME = 50
"""Work that each name on a lever counts for, since it is printed too; few levers have two."""


class FrameRoad(NamedTuple):
    """One route of an arm as positions of levers: sets with one bit for each lever."""

    arm: int
    """The number of the arm that gives leave for it; -1 without an arm of the frame."""
    route: int
    rev: int
    nor: int


@dataclass(slots=True)
class Frame:
    """The levers of a plan, indexed from 0 in the order of their numbers."""

    levers: tuple[FrameLever, ...]
    lies: dict[tuple[str, str], tuple[int, int] | None]
    """For points or a slip and a lie, the levers that must be reversed and normal; None for a lie
    that no lever sets. Points and slips without a lever are left out."""
    lever_of_arm: dict[str, int]
    shared: list[tuple[int, int]]
    """Pairs of levers that work one set of three-way points: never both reversed."""
    notes: list[str] = field(default_factory=list)
    effort: Effort = field(default_factory=Effort)
    """The work that is left for this frame."""

    def needs(self, facts: Facts, route: int) -> tuple[int, int] | None:
        """Return the levers that a route needs reversed and normal; None if it cannot be set."""
        rev = nor = 0
        for place, lie in facts.routes.all[route].lies.items():
            found = self.lies.get((facts.network.places[place].id, lie), (0, 0))
            if found is None:
                return None
            rev |= found[0]
            nor |= found[1]
        return None if rev & nor else (rev, nor)

    def roads(self, facts: Facts, arms: Iterable[int]) -> list[FrameRoad]:
        """Return the routes of these arms that the frame can set."""
        found = []
        for number in arms:
            for route in facts.assignment.routes_of[number]:
                needs = self.needs(facts, route)
                if needs is not None:
                    found.append(FrameRoad(number, route, *needs))
        return found

    def number(self, lever: int) -> str:
        """Return the number of a lever in the plan."""
        return self.levers[lever].number


def read_frame(layout: Layout) -> Frame:
    """Return the frame of a plan.

    A lever that works points also works those worked together with them. Points or an arm on two
    levers belong to the first lever. Three-way points have two levers: the first sets the left-most
    of the two lies that are not normal, the second sets the other one.
    """
    ordered = sorted(layout.levers.values(), key=lambda lever: lever.rank)
    frame = Frame((), {}, {}, [])
    kinds = {arm.id: arm.kind for arm in layout.arms()}
    groups = worked_with(layout)
    levers = []
    three_way: dict[str, list[int]] = {}
    for index, lever in enumerate(ordered):
        switches = _moved(layout, groups, lever)
        frame.effort.spend(EACH_NAME * len(switches))
        works: Works = "points" if switches else _kind(lever, kinds)
        levers.append(FrameLever(lever.number, works, switches or lever.arms))
        for switch_id in switches:
            switch = layout.switch(switch_id)
            if isinstance(switch, Points) and switch.kind == "three-way":
                three_way.setdefault(switch_id, []).append(index)
            elif switch is not None and (switch_id, str(switch.normal)) not in frame.lies:
                frame.lies[switch_id, str(switch.normal)] = 0, 1 << index
                frame.lies[switch_id, str(switch.reverse)] = 1 << index, 0
        for arm in lever.arms:
            frame.lever_of_arm.setdefault(arm, index)
    frame.levers = tuple(levers)
    for switch_id, own in three_way.items():
        _set_three_ways(frame, layout.points[switch_id], own[:2])
    _note_what_is_left(frame, layout, kinds)
    return frame


def _moved(layout: Layout, groups: dict[str, tuple[str, ...]], lever: Lever) -> tuple[str, ...]:
    """Return the points and slips that a lever moves, those in its own list first."""
    moved = dict.fromkeys(lever.points)
    for switch in lever.points:
        moved.update(dict.fromkeys(groups.get(switch, ())))
    return tuple(switch for switch in moved if layout.switch(switch) is not None)


def worked_with(layout: Layout) -> dict[str, tuple[str, ...]]:
    """Return, for points and slips, those worked together; lists with a common member are one."""
    group_of: dict[str, deque[str]] = {}
    for members in layout.worked_together:
        for member in members:
            other = group_of.setdefault(member, deque([member]))
            whole = group_of[members[0]]
            if other is whole:
                continue
            # Join the shorter list to the longer one, so that no member moves often.
            if len(whole) < len(other):
                other.extendleft(reversed(whole))
                group_of.update(dict.fromkeys(whole, other))
            else:
                whole.extend(other)
                group_of.update(dict.fromkeys(other, whole))
    groups = {id(group): tuple(group) for group in group_of.values()}
    return {switch: groups[id(group)] for switch, group in group_of.items()}


def _kind(lever: Lever, kinds: Mapping[str, str]) -> Works:
    found = {kinds[arm] for arm in lever.arms if arm in kinds}
    if not found:
        return "nothing"
    if len(found) > 1:
        return "arms"
    kind: Works
    for kind in ("stop", "distant", "calling-on", "shunt"):
        if kind in found:
            return kind
    return "arms"


def _set_three_ways(frame: Frame, points: Points, own: list[int]) -> None:
    ways = [lie for lie in points.lies if lie != points.normal]
    frame.lies[points.id, points.normal] = 0, sum(1 << lever for lever in own)
    for way, lie in enumerate(ways):
        frame.lies[points.id, lie] = (1 << own[way], 0) if way < len(own) else None
    if len(own) == 2:
        frame.shared.append((own[0], own[1]))
        return
    frame.notes.append(
        f"Three-way points {points.id} have one lever, {frame.number(own[0])}: it sets them "
        f"{ways[0]}. No lever sets them {ways[1]}."
    )


def _note_what_is_left(frame: Frame, layout: Layout, kinds: Mapping[str, str]) -> None:
    known = {switch for switch, _ in frame.lies}
    switches = [*layout.points, *(c.id for c in layout.crossings.values() if c.lies)]
    # Points in a yard are worked under hand signals; no route passes them.
    for yard in layout.yards.values():
        known.update(yard.points, yard.crossings)
    by_hand = [switch for switch in switches if switch not in known]
    if by_hand:
        frame.notes.append(
            f"On no lever: points {listed(by_hand, 'and')}. Their lie is unknown to the frame, so "
            "arms that only they would separate lock each other."
        )
    arms = [arm for arm in kinds if arm not in frame.lever_of_arm]
    if arms:
        frame.notes.append(
            f"On no lever: {'arm' if len(arms) == 1 else 'arms'} {listed(arms, 'and')}. "
            "The frame has no locking with these."
        )
