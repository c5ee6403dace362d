"""Guards: the trap points that stop every stray, with any number of trains.

A trap group is a group of points worked together that contains trap points. It lies normal, except
for trains whose routes need it reversed. It *guards* if no train that runs freely can ever be right
before it, facing, while it is reversed: for such trains it always lies normal. (Points met trailing
stop no train: it runs through them.) A group that does not guard stops no train.

``schema/README.md`` has the definition. It is enough for any number of trains: while a route holds
the group reversed, no other train is in a place before the group. None was there when the route was
given, because the route has that place; and none can come there as long as the route is promised.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.verdict.free_runs import NOTHING, FreeMoves

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.interlocking.routes import LeverGroups, Route, Routes
    from trappoint.topology.network import Network


def derive_guards(network: Network, together: LeverGroups, routes: Routes) -> dict[int, str]:
    """Return the levers of all trap groups that guard, each with its word for normal."""
    guards = dict(together.traps)
    while guards:
        failing = [lever for lever, _, _ in unguarded(network, together, routes, guards)]
        if not failing:
            break
        guards = {lever: word for lever, word in guards.items() if lever not in failing}
    return guards


def unguarded(
    network: Network, together: LeverGroups, routes: Routes, guards: dict[int, str]
) -> Iterator[tuple[int, int, int]]:
    """Yield each lever in ``guards`` that fails to guard, a place before it, and a route.

    A train may be in that place while the route holds the group reversed. The free runs assume
    that all groups in ``guards`` lie normal.
    """
    opening = _opening(routes, guards)
    moves = FreeMoves(network, together, guards)
    starts = [state for stand in network.stands for state in stand.states]
    starts += [entry.state for entry in network.entries]
    reached = moves.run(starts, NOTHING)
    entered = {network.place_of[to] for state in reached for to in moves.onward(state, NOTHING)}
    entered |= {network.place_of[entry.state] for entry in network.entries}
    for lever, before in _before_reversed(network, together, guards, reached):
        for number in opening.get(lever, ()):
            if not _keeps_out(routes, routes.all[number], network, before, before in entered):
                yield lever, before, number
                break


def _opening(routes: Routes, guards: dict[int, str]) -> dict[int, list[int]]:
    """Return for each lever the routes that need it reversed."""
    found: dict[int, list[int]] = {}
    for number, route in enumerate(routes.all):
        for lever in route.needs.keys() & guards.keys():
            if route.needs[lever] != guards[lever]:
                found.setdefault(lever, []).append(number)
    return found


def _before_reversed(
    network: Network, together: LeverGroups, guards: dict[int, str], reached: Iterable[int]
) -> Iterator[tuple[int, int]]:
    """Yield each lever with each place right before it, once, if the way over it is reversed."""
    pairs: dict[tuple[int, int], None] = {}
    for state in reached:
        for exit_ in network.exits[state]:
            if exit_.head >= 0 or network.is_element[network.place_of[state]]:
                continue
            for way in network.exits[exit_.to]:
                lever = together.lever_of.get(way.element, -1)
                if not way.facing:
                    continue  # Met trailing, points stop no train.
                if lever in guards and together.word(way.element, way.lie) != guards[lever]:
                    pairs[lever, network.place_of[state]] = None
    yield from pairs


def _keeps_out(routes: Routes, route: Route, network: Network, before: int, entered: bool) -> bool:
    """Return whether no train can be in a place while a route is promised to another train."""
    last = network.place_of[route.path[-1]]
    if before not in route.places:
        return False
    if before == last:
        return True
    return not entered and all(
        last in other.places or _differ(route, other)
        for other in (routes.all[number] for number in routes.having[before])
    )


def _differ(one: Route, other: Route) -> bool:
    return any(other.needs.get(lever, word) != word for lever, word in one.needs.items())
