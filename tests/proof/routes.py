"""The routes of all heads, and their conflicts.

Written from the format's page alone ("Routes", "Conflict").
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from proof.held import BEYOND
from proof.pieces import HOLDS, Head, ends_there
from proof.roads import Passing, Roads, Spot, Way

OTHER_SENSE = {"up": "down", "down": "up", "in": "out", "out": "in"} | {
    "first": "second",
    "second": "first",
}


@dataclass(frozen=True)
class Route:
    """A way from a head to the end of its leave."""

    head: Head
    kind: str
    start: Spot
    path: tuple[Spot, ...]
    passes: frozenset[Passing]
    lies: tuple[tuple[str, str], ...]
    over: tuple[str, ...]
    """Its tracks."""
    ends_at: str
    """The signal, yard or track at its end, or a held edge if it runs over no track."""

    @cached_property
    def places(self) -> frozenset[str]:
        return frozenset(place for place, _ in self.path)


def routes(roads: Roads) -> Iterator[Route]:
    """Every route of every head."""
    for start, gates in roads.gates.items():
        for gate in gates:
            for kind in HOLDS:
                if gate.head is not None and kind in gate.head.kinds:
                    for taken, lies in _follow(roads, kind, (), gate.ways, {}):
                        yield _route(roads, gate.head, kind, start, taken, lies)


def _follow(
    roads: Roads, kind: str, taken: tuple[Way, ...], ways: tuple[Way, ...], lies: dict[str, str]
) -> Iterator[tuple[tuple[Way, ...], dict[str, str]]]:
    for way in ways:
        on = {**lies, way.switch: way.lie} if way.switch else lies
        agree = lies.get(way.switch, way.lie) == way.lie and roads.levers_of(on) is not None
        if any(way.to == before.to for before in taken) or not agree:
            continue
        if end_of_route(roads, kind, way.to) is not None:
            yield (*taken, way), on
        else:
            yield from _follow(roads, kind, (*taken, way), roads.gates[way.to][0].ways, on)


def end_of_route(roads: Roads, kind: str, spot: Spot) -> str | None:
    """Return the signal, track or yard at which a route ends here, None if it goes on."""
    place, way = spot
    if way == "":
        yards: list[str] = [*roads.plan["yards"]]
        return next(yard for yard in yards if roads.name("yards", yard) == place)
    section = roads.pieces.sections.get(place)
    if section is None:
        return None
    (gate,) = roads.gates[spot]
    if gate.head is not None and (kind == "shunt" or "stop" in gate.head.kinds):
        return gate.head.signal
    at_the_end = ends_there(roads.pieces.end_of(section, way))
    is_limit = not gate.ways
    return section.along(way)[-1][0].track if at_the_end or is_limit else None


def _route(
    roads: Roads, head: Head, kind: str, start: Spot, taken: tuple[Way, ...], lies: dict[str, str]
) -> Route:
    path = tuple(way.to for way in taken)
    ends_at = end_of_route(roads, kind, path[-1])
    assert ends_at is not None
    passes = frozenset(way.passes for way in taken)
    told, over = tuple(sorted(lies.items())), _tracks(roads, path)
    if ends_at.startswith(BEYOND) and over:
        ends_at = over[-1]
    return Route(head, kind, start, path, passes, told, over, ends_at)


def _tracks(roads: Roads, path: tuple[Spot, ...]) -> tuple[str, ...]:
    """Return the tracks of a path, each stretch along one track once."""
    found = [""]
    for place, heading in path:
        section = roads.pieces.sections.get(place)
        pieces = [] if section is None else section.along(heading)
        for track in [piece.track for piece, _ in pieces] or [""]:
            if track != found[-1]:
                found.append(track)
    return tuple(track for track in found if track and not track.startswith(BEYOND))


# ---- conflicts


def conflict(roads: Roads, one: Route, other: Route) -> bool:
    """Return whether two routes must never be given at once."""
    if runs_along(one, other) or runs_along(other, one):
        return False
    if one.places & other.places or are_opposed(one, other):
        return True
    return lie_differently(roads, one.lies, other.lies)


def are_opposed(one: Route, other: Route) -> bool:
    """Return whether two routes pass a joint, a cut or a track end in opposite directions."""
    return any((at, OTHER_SENSE[sense]) in other.passes for at, sense in one.passes)


def runs_along(main: Route, shunt: Route) -> bool:
    """Return whether a shunt route is part of a stop route that passes its head."""
    if main.kind != "stop" or shunt.kind != "shunt" or shunt.start not in main.path[:-1]:
        return False
    after = main.path.index(shunt.start) + 1
    return main.path[after : after + len(shunt.path)] == shunt.path


def lie_differently(
    roads: Roads, one: tuple[tuple[str, str], ...], other: tuple[tuple[str, str], ...]
) -> bool:
    first, second = roads.levers_of(dict(one)), roads.levers_of(dict(other))
    assert first is not None and second is not None
    return any(second.get(group, how) != how for group, how in first.items())


def passed_arms(roads: Roads, route: Route) -> set[str]:
    """Return the arms that hold trains on the way of a route."""
    found = set()
    for spot in route.path[:-1]:
        head = roads.gates[spot][0].head
        if head is not None:
            found |= {arm for arm, kind in head.arms if kind in HOLDS}
    return found


def into_drag(roads: Roads, route: Route) -> bool:
    """Return whether a route leads off the line."""
    return route.path[-1][0] in roads.drags
