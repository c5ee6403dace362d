"""Arms for a signal: one for each road, from left to right, with its `to`."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from trappoint.interlocking.arms import told_apart

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Arm, Head

MAX_NAMES = 3
"""The greatest number of names in the `to` of an arm that the search tries."""


class ArmRoad(NamedTuple):
    """The road of one arm of a signal."""

    routes: tuple[int, ...]
    to: tuple[str, ...]
    """The names that no other road of its signal has; empty for the only road."""


def roads_of(facts: Facts, head: int) -> list[ArmRoad]:
    """Return the roads of a head that need a stop arm, from left to right.

    A road is all routes that need the points alike. One along which a shunt arm of the head gives
    leave needs no stop arm; it keeps one that it has.
    """
    own = facts.routes.of_kind(head, shunting=False)
    groups = _groups_with_arms(facts, head, own)
    if groups == [own]:
        return [ArmRoad(tuple(own), ())]
    names = {number: _names_over(facts, number) for number in own}
    return [ArmRoad(tuple(group), _aim(names, group, own)) for group in groups]


def _groups_with_arms(facts: Facts, head: int, own: list[int]) -> list[list[int]]:
    """Return the routes of each road of a head that needs a stop arm."""
    return [group for group in _groups(facts, own) if _needs_arm(facts, head, group)]


def _groups(facts: Facts, own: list[int]) -> list[list[int]]:
    groups: dict[frozenset[tuple[int, str]], list[int]] = {}
    for number in own:
        groups.setdefault(frozenset(facts.routes.all[number].lies.items()), []).append(number)
    return list(groups.values())


def _needs_arm(facts: Facts, head: int, road: list[int]) -> bool:
    """Return whether a road has a stop arm of its own, or no shunt arm either."""
    if not facts.network.heads[head].shunts:
        return True
    spoken = facts.assignment.speaking
    arms = facts.assignment.arms
    if any(
        arms[arm].kind == "stop" and set(facts.assignment.routes_of[arm]) == set(road)
        for arm in spoken.get(road[0], ())
    ):
        return True
    shunted = [
        facts.routes.all[route].path
        for route in facts.routes.of_kind(head, shunting=True)
        if route in spoken
    ]
    return not all(_along(facts.routes.all[route].path, shunted) for route in road)


def _along(path: tuple[int, ...], others: list[tuple[int, ...]]) -> bool:
    """Return whether another path is the same, or begins this one."""
    return any(path[: len(other)] == other[: len(path)] for other in others)


def confused_roads(facts: Facts, head: int) -> Iterator[tuple[int, ...]]:
    """Yield roads of a head that no `to` can distinguish, as the routes in question.

    In most cases one road runs over everything on the other road, and more: a way round.
    """
    own = facts.routes.of_kind(head, shunting=False)
    groups = _groups_with_arms(facts, head, own)
    if len(own) <= 1 or groups == [own]:
        return
    in_order = len(groups) == len(own) and told_apart(facts.network, facts.routes, own)
    if in_order:
        return
    names = {number: set(_names_over(facts, number)) for number in own}
    for group in groups:
        shared = set.intersection(*(names[number] for number in group))
        for other in own:
            if other not in group and names[other] >= shared:
                yield (*group, other)


def _names_over(facts: Facts, route: int) -> list[str]:
    """Return names for a route, the best first: those of its end, then those on its way.

    A platform comes before its track, and the last track before earlier ones.
    """
    layout, network = facts.layout, facts.network
    found: dict[str, None] = {}
    for state in reversed(facts.routes.all[route].path):
        place = network.place(state)
        if place.kind == "section":
            tracks = network.tracks_run(state)[::-1]
            beside = [p for track in tracks for p in facts.platforms_at.get(track, ())]
            found.update(dict.fromkeys(p for p in beside if p not in layout.tracks))
            found.update(dict.fromkeys(tracks))
        elif place.kind == "yards":
            yard = layout.yards[place.id]
            if place.id not in layout.tracks and place.id not in layout.platforms:
                found[place.id] = None
            found.update(dict.fromkeys(yard.tracks))
            beside = [p for track in yard.tracks for p in facts.platforms_at.get(track, ())]
            found.update(dict.fromkeys(p for p in beside if p not in layout.tracks))
    return list(found)


def _aim(names: dict[int, list[str]], group: list[int], own: list[int]) -> tuple[str, ...]:
    """Return the fewest names on every route of a group and on no other route."""
    shared = [name for name in names[group[0]] if all(name in names[number] for number in group)]
    foreign = [set(names[number]) for number in own if number not in group]
    for count in range(1, MAX_NAMES + 1):
        for chosen in combinations(shared, count):
            if not any(other.issuperset(chosen) for other in foreign):
                return chosen
    if any(other.issuperset(shared) for other in foreign):
        return ()
    for name in list(shared):
        rest = [other for other in shared if other != name]
        if not any(other.issuperset(rest) for other in foreign):
            shared = rest
    return tuple(shared)


def common_names(facts: Facts, head: int, roads: list[ArmRoad]) -> tuple[str, ...]:
    """Return the fewest names that all of some roads of a head have, and no other road of it."""
    own = facts.routes.of_kind(head, shunting=False)
    group = [route for road in roads for route in road.routes]
    return _aim({number: _names_over(facts, number) for number in own}, group, own)


class ArmWanted(NamedTuple):
    """The arm for one road of a signal."""

    arm: Arm | None
    """The arm that stays, or that is given another road; None for a new one."""
    to: tuple[str, ...]
    """The `to` of the road; empty if the arm needs none."""
    stays: bool = False
    """True if the arm gives leave for this road already."""


def arms_wanted(facts: Facts, head: int) -> list[ArmWanted] | None:
    """Return the stop arms that a head needs, from left to right, with as few changes as possible.

    None if each road has its arm already, or if the head has no road.
    """
    spoken = _spoken(facts, facts.network.heads[head])
    groups = _groups_with_arms(facts, head, facts.routes.of_kind(head, shunting=False))
    if _one_arm_each(facts, facts.network.heads[head], groups, spoken):
        return None
    roads = roads_of(facts, head)
    right = {routes: arm for arm, routes in reversed(spoken) if routes}
    keeps = [right.get(frozenset(road.routes)) for road in roads]
    spare = [arm for arm, _ in spoken if arm not in keeps]
    return [
        ArmWanted(keep, road.to, True)
        if keep is not None
        else ArmWanted(spare.pop(0) if spare else None, road.to)
        for road, keep in zip(roads, keeps, strict=True)
    ]


def _spoken(facts: Facts, head: Head) -> list[tuple[Arm, frozenset[int]]]:
    """Return the stop arms of a head, each with the routes that it gives leave for."""
    of = {
        (arm.signal, arm.position): frozenset(routes)
        for arm, routes in zip(facts.assignment.arms, facts.assignment.routes_of, strict=True)
        if arm.signal == head.signal
    }
    return [(arm, of[arm.signal, arm.position]) for arm in head.arms_of("stop")]


def _one_arm_each(
    facts: Facts, head: Head, roads: list[list[int]], spoken: list[tuple[Arm, frozenset[int]]]
) -> bool:
    """Return whether each road of a head has one arm that gives leave for it."""
    if not roads:
        return True
    given = [routes for _, routes in spoken]
    if facts.layout.signals[head.signal].form == "disc":
        heard = [route for routes in given for route in routes]
        wanted_by_all = {route for road in roads for route in road}
        return len(set(heard)) == len(heard) and wanted_by_all <= set(heard)
    wanted = {frozenset(road) for road in roads}
    return len(given) == len(wanted) and set(given) == wanted


def arm_ids(signal: str, count: int) -> Iterator[str]:
    """Yield ids for the arms of a new signal, from left to right."""
    if count == 1:
        yield signal
    elif count in _SIDES:
        yield from (f"{signal}{side}" for side in _SIDES[count])
    else:
        yield from (f"{signal}-{number}" for number in range(1, count + 1))


_SIDES = {2: "LR", 3: "LMR"}
