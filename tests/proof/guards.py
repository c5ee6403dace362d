"""The trap groups that guard: only these stop a train that no signal holds.

Written from the format's page alone ("Worked together").
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from proof.roads import Roads, Spot, Way
from proof.routes import Route, lie_differently


def guarding(roads: Roads, routes: Sequence[Route]) -> dict[str, str]:
    """Return the normal lie of each trap group that guards."""
    guards = dict(roads.trapped)
    while True:
        moves = list(_free_moves(roads, guards))
        failing = [group for group in guards if not _guards(roads, routes, group, moves)]
        if not failing:
            return guards
        for group in failing:
            del guards[group]


def _free_moves(roads: Roads, guards: dict[str, str]) -> Iterator[tuple[Spot, Way]]:
    """Return all moves of trains that run freely from stands and edges, with guards ignored."""
    waiting = [(place, way) for place, ways in roads.stands.items() for way in ways]
    waiting += [spot for _, spot in roads.edges]
    done = set(waiting)
    for spot in waiting:
        for gate in roads.gates[spot]:
            for way in gate.ways if gate.head is None else ():
                if is_kept_back(roads, guards, way):
                    continue
                yield spot, way
                if way.to not in done and way.to[0] not in roads.drags:
                    done.add(way.to)
                    waiting.append(way.to)


def is_kept_back(roads: Roads, lies: dict[str, str], way: Way) -> bool:
    """Return whether points or a slip, met facing, lie against a way, with these lies of groups."""
    if not way.facing:
        return False
    group, how = roads.lever(way.switch, way.lie)
    return lies.get(group, how) != how


def _guards(
    roads: Roads, routes: Sequence[Route], group: str, moves: Collection[tuple[Spot, Way]]
) -> bool:
    """Return whether no train that runs freely is before a group while a route has it reversed."""
    normal = {group: roads.trapped[group]}
    before = {
        place
        for (place, _), onto in moves
        if onto.to[0] in roads.elements
        for gate in roads.gates[onto.to]
        if any(is_kept_back(roads, normal, through) for through in gate.ways)
    }
    run_into = {way.to[0] for _, way in moves if way.to[0] not in roads.drags}
    run_into |= {place for _, (place, _) in roads.edges}
    for route in routes:
        lies = roads.levers_of(dict(route.lies)) or {}
        if lies.get(group, normal[group]) == normal[group]:
            continue
        for place in before - {route.path[-1][0]}:
            if place not in route.places or place in run_into:
                return False
            if not _is_shut(roads, routes, place, route):
                return False
    return True


def _is_shut(roads: Roads, routes: Sequence[Route], place: str, route: Route) -> bool:
    """Return whether no other route leaves a train in a place of this route while it is given."""
    return all(
        route.path[-1][0] in other.places or lie_differently(roads, route.lies, other.lies)
        for other in routes
        if other != route and place in other.places
    )
