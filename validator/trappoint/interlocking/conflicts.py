"""Conflicts: the routes and arms that must never be off together, and what prevents it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.interlocking.arms import Assignment
    from trappoint.interlocking.routes import LeverGroups, Route, Routes
    from trappoint.topology.network import Network

By = Literal["points", "direct"]


MAX_PAIRS = 2_000_000
"""Most pairs of routes to compare for the conflicts of a plan. A pair of arms with several routes
each counts for more, because its conditions take time too."""


class ArmConflict(NamedTuple):
    """A conflict of an arm with another one."""

    other: int
    """The number of the other arm."""
    by: By
    """``points`` if the lies alone prevent it, ``direct`` if the locking, or you, must."""
    when: Mapping[str, str] | None
    """The lies of points in which the two conflict; None if they always do."""


def routes_conflict(one: Route, other: Route) -> By | None:
    """Return what prevents two routes at once; None if they do not conflict.

    By points: they need one lever in different positions. Direct: they share a place, or begin back
    to back and run opposite ways, and no lever differs. The trade calls these *conflicting* and
    *direct opposing* locking. A main route does not conflict with a shunt route along it, because
    it passes that shunt signal off.
    """
    if runs_along(one, other) or runs_along(other, one):
        return None
    for lever, word in one.needs.items():
        if other.needs.get(lever, word) != word:
            return "points"
    opposed = 0 <= one.against == other.head
    return "direct" if opposed or not one.places.isdisjoint(other.places) else None


def runs_along(main: Route, shunt: Route) -> bool:
    """Return whether a main route passes the signal of a shunt route, and has all of that route."""
    if shunt.head not in main.past or not shunt.shunting:
        return False
    if shunt.path[0] not in main.path:
        return False
    start = main.path.index(shunt.path[0])
    return main.path[start : start + len(shunt.path)] == shunt.path


def derive_conflicts(
    network: Network,
    routes: Routes,
    together: LeverGroups,
    assignment: Assignment,
    *,
    overlap: bool = False,
) -> list[tuple[ArmConflict, ...]]:
    """Derive the conflicts of every arm that gives leave, in the order of the plan.

    With ``overlap``, a route also conflicts with routes that run against it on its overlap.
    """
    ahead = derive_overlaps(network, routes) if overlap else {}
    arms_at: dict[int, set[int]] = {}
    keys_of: list[set[int]] = []
    for arm, own in enumerate(assignment.routes_of):
        keys_of.append(meeting_keys(routes, together, own))
        keys_of[arm].update(network.place_of[s] for route in own for s in ahead.get(route, ()))
        for key in keys_of[arm]:
            arms_at.setdefault(key, set()).add(arm)
    found: list[tuple[ArmConflict, ...]] = []
    for arm, own in enumerate(assignment.routes_of):
        near: set[int] = set()
        for key in keys_of[arm]:
            near |= arms_at[key]
        near.discard(arm)
        conflicts: list[ArmConflict] = []
        for other in sorted(near):
            pairs = {
                (mine, theirs): routes_conflict(routes.all[mine], routes.all[theirs])
                or _in_overlap(network, routes, ahead, mine, theirs)
                for mine in own
                for theirs in assignment.routes_of[other]
            }
            conflicts += _between(network, routes, pairs, other)
        found.append(tuple(conflicts))
    return found


def too_many_pairs(routes: Routes, together: LeverGroups, assignment: Assignment) -> bool:
    """Return whether the conflicts of a plan take too long to derive."""
    keys_of = [meeting_keys(routes, together, own) for own in assignment.routes_of]
    arms_at: dict[int, list[int]] = {}
    for arm, keys in enumerate(keys_of):
        for key in keys:
            arms_at.setdefault(key, []).append(arm)
    counts = [len(own) for own in assignment.routes_of]
    most_at = (sum(counts[arm] for arm in arms) for arms in arms_at.values())
    if max(counts, default=0) < 8 and sum(count * count for count in most_at) <= MAX_PAIRS:
        return False
    pairs = met = 0
    for arm, keys in enumerate(keys_of):
        near: set[int] = set()
        for key in keys:
            met += len(arms_at[key])
            if met > 10 * MAX_PAIRS:
                return True
            near.update(arms_at[key])
        for other in near:
            between = counts[arm] * counts[other]
            pairs += between + between * between // 50
        if pairs > MAX_PAIRS:
            return True
    return False


def meeting_keys(routes: Routes, together: LeverGroups, own: Iterable[int]) -> set[int]:
    """Return keys for the places, levers and back-to-back heads of an arm's routes.

    Two conflicting arms share a key. Places have their numbers. A lever with several switches has
    the negative number of its first switch; a single switch is itself a place. Heads back to back
    have the lower of their numbers, counted on from the places.
    """
    keys: set[int] = set()
    for number in own:
        route = routes.all[number]
        keys |= route.places
        keys |= {-1 - lever for lever in route.needs if len(together.members[lever]) > 1}
        if route.against >= 0:
            keys.add(len(routes.having) + min(route.head, route.against))
    return keys


def derive_overlaps(network: Network, routes: Routes) -> dict[int, tuple[int, ...]]:
    """Derive the overlap of each route: the states beyond its end signal, over the next points.

    So the two homes of a passing loop exclude each other. Common practice, no source.
    """
    found: dict[int, tuple[int, ...]] = {}
    for number, route in enumerate(routes.all):
        state, ahead = route.path[-1], []
        if network.facing[state] < 0:
            continue
        while len(network.exits[state]) == 1 and network.exits[state][0].to not in ahead:
            state = network.exits[state][0].to
            ahead.append(state)
            if network.place(state).kind != "section" or network.facing[state] >= 0:
                break
        found[number] = tuple(ahead)
    return found


def _in_overlap(
    network: Network, routes: Routes, ahead: Mapping[int, tuple[int, ...]], one: int, other: int
) -> By | None:
    """Return ``direct`` if either route runs against the overlap of the other; else None."""
    for mine, theirs in ((one, other), (other, one)):
        over = {network.place_of[state]: state for state in ahead.get(mine, ())}
        for state in routes.all[theirs].path:
            met = over.get(network.place_of[state])
            if met is not None and _against(network, met, state):
                return "direct"
    return None


def _against(network: Network, one: int, other: int) -> bool:
    """Return whether two trains in these states of one place run different ways.

    At points: one comes from the toe and the other does not. Elsewhere: the states differ.
    """
    if network.place(one).kind == "points":
        return (network.way[one] == "toe") is not (network.way[other] == "toe")
    return one != other


Lies = dict[int, str]
"""From the places of points and slips to their lies."""


def _between(
    network: Network, routes: Routes, pairs: Mapping[tuple[int, int], By | None], other: int
) -> list[ArmConflict]:
    """Return the conflicts between two arms from those between their routes, pair by pair."""
    kinds = set(pairs.values())
    if None not in kinds:
        return [ArmConflict(other, "direct" if "direct" in kinds else "points", None)]
    if kinds == {None}:
        return []
    differing = (
        _varying(routes, [number for number, _ in pairs]),
        _varying(routes, [number for _, number in pairs]),
    )
    found: list[ArmConflict] = []
    by: By
    for by, only in (("direct", None), ("points", differing)):
        cases: list[Lies] = []
        others: list[Lies] = []
        for (one, two), kind in pairs.items():
            lies = _merged(routes, one, two, only)
            if lies is not None and (kind == by or (kind is None or only is not None)):
                (cases if kind == by else others).append(lies)
        for when in _conditions(cases, others):
            named = {network.places[place].id: lie for place, lie in when.items()}
            found.append(ArmConflict(other, by, named))
    if not found:
        # The points differ on both sides: some routes of one arm exclude some of the other.
        found.append(ArmConflict(other, "points", {}))
    return found


def _merged(
    routes: Routes, one: int, other: int, only: tuple[set[int], set[int]] | None
) -> Lies | None:
    """Return the lies of two routes together, in the order of the plan; None if they differ.

    ``only`` has the switches in which each arm's own routes differ; None means all switches.
    """
    first, second = routes.all[one].lies, routes.all[other].lies
    lies: Lies = {}
    for place in sorted(first.keys() | second.keys()):
        mine = first.get(place) if only is None or place in only[0] else None
        theirs = second.get(place) if only is None or place in only[1] else None
        if mine is None and theirs is None:
            continue
        if mine is not None and theirs is not None and mine != theirs:
            return None
        lies[place] = mine or theirs or ""
    return lies


def _varying(routes: Routes, own: list[int]) -> set[int]:
    """Return the switches that these routes need in different lies."""
    first = dict(routes.all[own[0]].lies)
    varying: set[int] = set()
    for number in own[1:]:
        lies = routes.all[number].lies
        varying |= {
            place for place in first.keys() | lies.keys() if first.get(place) != lies.get(place)
        }
    return varying


def _conditions(cases: list[Lies], others: list[Lies]) -> list[Lies]:
    """Return conditions that are true in all of ``cases`` and in none of ``others``.

    Each condition is a case without the lies that are not needed to exclude the others. Conditions
    that follow from shorter ones are left out.
    """
    found: list[Lies] = []
    for case in cases:
        when = dict(case)
        for name in list(case):
            shorter = {key: lie for key, lie in when.items() if key != name}
            if all(other.get(name) == case[name] for other in others if _agrees(shorter, other)):
                when = shorter
        if when not in found:
            found.append(when)
    return [
        when for when in found if not any(o != when and o.items() <= when.items() for o in found)
    ]


def _agrees(when: Lies, other: Lies) -> bool:
    return all(other.get(name, lie) == lie for name, lie in when.items())
