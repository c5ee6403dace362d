"""The roads of all arms on the drawing, so that a page can light them up."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.drawing.moment import Moment, Thing
    from trappoint.interlocking.locking_table import LockingTable, RouteEntry
    from trappoint.model.layout import Crossing, Layout, Points

_Key = TypeVar("_Key")


@dataclass(slots=True)
class RoadsDrawn:
    """For everything on the drawing, the arms whose roads run over it."""

    over: dict[Thing, list[str]] = field(default_factory=dict)
    lies: dict[Thing, list[str]] = field(default_factory=dict)
    """From a switch to ``ARM:LIE`` of each arm that needs it."""
    tracks: dict[str, list[str]] = field(default_factory=dict)
    """From each arm to the tracks of its road."""
    points: dict[str, list[str]] = field(default_factory=dict)
    """From each arm to ``SWITCH:LIE`` for every switch of its roads."""
    excludes: dict[str, list[str]] = field(default_factory=dict)
    """From each arm to the arms that may never be off with it."""
    sometimes: dict[str, list[str]] = field(default_factory=dict)
    """From each arm to the arms that may not be off with it in certain lies."""
    meaning: dict[str, str] = field(default_factory=dict)
    moment: Moment | None = None
    """The moment to show; None for the normal lies."""

    def is_lit(self, thing: Thing) -> bool:
        """Return whether the lit road runs over a thing."""
        return self.moment is not None and thing in self.moment.lit

    def lies_of(self, switch: Points | Crossing) -> tuple[str, ...]:
        """Return how points or a slip are shown to lie; empty for a diamond."""
        if self.moment is not None:
            return self.moment.lies_of(switch)
        return () if switch.normal is None else (switch.normal,)

    def is_off(self, arm: str) -> bool:
        """Return whether an arm is off."""
        return self.moment is not None and arm in self.moment.off


def find_roads(layout: Layout, table: LockingTable | None) -> RoadsDrawn:
    """Find the roads of all arms; empty if there is no locking table."""
    roads = RoadsDrawn()
    if table is None:
        return roads
    for entry in table.arms:
        roads.meaning[entry.arm] = entry.meaning
        roads.excludes[entry.arm] = _once(c.arm for c in entry.conflicts if c.when is None)
        roads.sometimes[entry.arm] = _once(c.arm for c in entry.conflicts if c.when is not None)
        for route in entry.routes:
            _add_route(layout, roads, entry.arm, route)
    return roads


def _once(values: Iterator[str]) -> list[str]:
    return list(dict.fromkeys(values))


def _add(lists: dict[_Key, list[str]], key: _Key, value: str) -> None:
    own = lists.setdefault(key, [])
    if value not in own:
        own.append(value)


def _add_route(layout: Layout, roads: RoadsDrawn, arm: str, route: RouteEntry) -> None:
    for track in route.over:
        _add(roads.over, ("tracks", track), arm)
        _add(roads.tracks, arm, track)
    for thing in _elements(layout, (route.start, *route.over)):
        _add(roads.over, thing, arm)
    for switch, lie in route.points.items():
        kind = "points" if switch in layout.points else "crossings"
        _add(roads.over, (kind, switch), arm)
        _add(roads.lies, (kind, switch), f"{arm}:{lie}")
        _add(roads.points, arm, f"{switch}:{lie}")


def _elements(layout: Layout, tracks: tuple[str, ...]) -> Iterator[Thing]:
    """Yield the element between each two neighbouring tracks of a road."""
    met = [_met(layout, track) for track in tracks]
    for one, other in pairwise(met):
        for thing in one:
            if thing in other:
                yield thing


def _met(layout: Layout, track: str) -> list[Thing]:
    found: list[Thing] = []
    if track in layout.tracks:
        for end in (layout.tracks[track].up, layout.tracks[track].down):
            element = layout.element(end)
            if element is not None:
                found.append((element[0], end.name))
    return found
