"""Conflicts: which routes, and so which arms, can never be off together, and what sees to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.interlocking.arms import Assignment
    from trappoint.interlocking.routes import LeverGroups, Route, Routes
    from trappoint.topology.network import Network

By = Literal["points", "direct"]


MAX_PAIRS = 2_000_000
"""The pairs of routes that may be compared for the conflicts of a plan. (A pair of arms that both
have several routes counts for more: its conditions are looked for too.)"""


class ArmConflict(NamedTuple):
    """A conflict between an arm and another one, both by their numbers."""

    other: int
    by: By
    """``points`` where the lies alone exclude it, ``direct`` where only locking does."""
    when: Mapping[str, str] | None
    """None if the two always conflict; else lies of points in which they do."""


def routes_conflict(one: Route, other: Route) -> By | None:
    """Return whether two routes conflict, and whether the lies of points alone exclude it.

    By points: they need a lever differently. Direct: they have a place in common, or begin back to
    back and run opposite ways, and no lever tells them apart. Source of the distinction: trade
    usage of *conflicting* and *direct opposing* locking. A main route and a shunt route on its own
    way do not conflict: the shunt signal that it passes must be off for it.
    """
    if runs_along(one, other) or runs_along(other, one):
        return None
    for lever, word in one.needs.items():
        if other.needs.get(lever, word) != word:
            return "points"
    opposed = 0 <= one.against == other.head
    return "direct" if opposed or not one.places.isdisjoint(other.places) else None


def runs_along(main: Route, shunt: Route) -> bool:
    """Return whether a main route passes a shunt signal and runs all along this route of it."""
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
    """Derive, for every arm that gives leave, those that it conflicts with, in plan order.

    With ``overlap`` a route also excludes what runs against it on its overlap.
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
    """Return whether the conflicts of a plan would take too long to derive."""
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
    """Return what two conflicting arms have in common: a place, a lever, or a spot back to back.

    Levers are numbered by the place of their first switch; a single switch is itself a place that
    its routes share, so only those worked together add a key, kept apart by its sign. Heads back to
    back add the lower of their numbers, counted on from the places.
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
    """Derive for each route the states beyond its end signal, up to and over the next points.

    Source: practice where the overlap runs to the limits of the points, so that the two homes of
    a passing loop exclude each other.
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
    """Return whether either route runs against the other one's overlap."""
    for mine, theirs in ((one, other), (other, one)):
        over = {network.place_of[state]: state for state in ahead.get(mine, ())}
        for state in routes.all[theirs].path:
            met = over.get(network.place_of[state])
            if met is not None and _against(network, met, state):
                return "direct"
    return None


def _against(network: Network, one: int, other: int) -> bool:
    """Return whether two trains in these states of one place would not run the same way.

    At points: one comes from the toe and the other does not; elsewhere any other way in.
    """
    if network.place(one).kind == "points":
        return (network.way[one] == "toe") is not (network.way[other] == "toe")
    return one != other


Lies = dict[int, str]
"""From the places of points and slips to lies."""


def _between(
    network: Network, routes: Routes, pairs: Mapping[tuple[int, int], By | None], other: int
) -> list[ArmConflict]:
    """Return the conflicts between two arms from those between their routes, pair by pair."""
    kinds = set(pairs.values())
    if None not in kinds:
        return [ArmConflict(other, "direct" if "direct" in kinds else "points", None)]
    if kinds == {None}:
        return []
    telling = (
        _varying(routes, [number for number, _ in pairs]),
        _varying(routes, [number for _, number in pairs]),
    )
    found: list[ArmConflict] = []
    by: By
    for by, only in (("direct", None), ("points", telling)):
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
        # Only roads that points tell apart on both sides: some of the one with some of the other.
        found.append(ArmConflict(other, "points", {}))
    return found


def _merged(
    routes: Routes, one: int, other: int, only: tuple[set[int], set[int]] | None
) -> Lies | None:
    """Return the lies of two routes together, in the order of the plan; None if they clash.

    ``only``: the switches by which each arm's own routes are told apart; None for all.
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
    """Return the switches that not all of these routes need in the same lie."""
    first = dict(routes.all[own[0]].lies)
    varying: set[int] = set()
    for number in own[1:]:
        lies = routes.all[number].lies
        varying |= {
            place for place in first.keys() | lies.keys() if first.get(place) != lies.get(place)
        }
    return varying


def _conditions(cases: list[Lies], others: list[Lies]) -> list[Lies]:
    """Say in as few lies as can be in which cases one is, and in none of the others.

    Each condition is a case with every lie left out that tells it from no other; conditions that
    follow from shorter ones are left out.
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
