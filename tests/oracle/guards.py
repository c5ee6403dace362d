"""The trap groups that guard: they lie normal for every free-running train that meets them facing.

The result is a greatest fixed point. At first all trap groups are assumed to guard. Each round
drops those that fail under this assumption, until none fails.
"""

from __future__ import annotations

from collections.abc import Iterator, Set
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from oracle.ground import Ground, Move, Route
    from oracle.sections import Spot

__all__ = ["FreeRuns", "free_runs", "guarding", "places_before"]


class FreeRuns(NamedTuple):
    """All spots that trains reach freely, and the places that they enter."""

    spots: frozenset[Spot]
    run_into: frozenset[str]


def guarding(ground: Ground) -> frozenset[str]:
    """The trap groups that guard."""
    guards = frozenset(ground.elements.trap_groups)
    while True:
        runs = free_runs(ground, guards)
        kept = frozenset(group for group in guards if _guards(ground, runs, group))
        if kept == guards:
            return guards
        guards = kept


def free_runs(ground: Ground, guards: Set[str]) -> FreeRuns:
    """Follow the trains that run freely from all stands and edges, while these groups guard."""
    spots = {(place, heading) for place, headings in ground.stands.items() for heading in headings}
    spots |= {spot for _, spot in ground.come_on}
    run_into = set()
    queue = list(spots)
    while queue:
        spot = queue.pop()
        for move in _free_moves(ground, spot):
            if move.derails or not _may_lie(ground, guards, spot, move):
                continue
            run_into.add(move.to[0])
            if move.to not in spots:
                spots.add(move.to)
                queue.append(move.to)
    return FreeRuns(frozenset(spots), frozenset(run_into))


def _free_moves(ground: Ground, spot: Spot) -> Iterator[Move]:
    """The moves from a spot by all ways out that no head closes."""
    for way in ground.ways_out[spot]:
        if way.head is None:
            yield from way.moves


def _may_lie(ground: Ground, guards: Set[str], spot: Spot, move: Move) -> bool:
    """Return whether the element at a spot may lie for a move; one that guards is normal."""
    if move.element is None or move.lie is None:
        return True
    guarded = ground.group_of[move.element] in guards and ground.elements.is_facing(*spot)
    return not guarded or _is_normal(ground, move)


def _is_normal(ground: Ground, move: Move) -> bool:
    assert move.element is not None
    assert move.lie is not None
    word = ground.elements.word(move.element, move.lie)
    return ground.elements.is_normal(ground.group_of[move.element], word)


def _guards(ground: Ground, runs: FreeRuns, group: str) -> bool:
    """Return whether a trap group guards, given the free runs.

    It fails if a route reverses it while a train may be at a place from which it would run over it.
    """
    before = places_before(ground, runs, group)
    reversing = [
        route
        for route in ground.all_routes
        if group in route.words and not ground.elements.is_normal(group, route.words[group])
    ]
    return all(_is_kept(ground, runs, place, route) for place in before for route in reversing)


def places_before(ground: Ground, runs: FreeRuns, group: str) -> set[str]:
    """Return the places from which a train could run freely onto a member of the group, facing."""
    return {
        spot[0]
        for spot in runs.spots
        for onto in _free_moves(ground, spot)
        if onto.to[1] != "" and ground.group_of.get(onto.to[0]) == group
        if ground.elements.is_facing(*onto.to)
        if not all(_is_normal(ground, through) for through in _free_moves(ground, onto.to))
    }


def _is_kept(ground: Ground, runs: FreeRuns, place: str, route: Route) -> bool:
    """Return whether a route keeps every other train out of a place while the group lies for it.

    The route must contain the place. If it ends there, its own train or promise keeps others out.
    Else no train may enter the place freely, and each other route through it must exclude this one.
    """
    if place not in route.places:
        return False
    last = route.over[-1]
    if place == last:
        return True
    if place in runs.run_into or any(place == spot[0] for _, spot in ground.come_on):
        return False
    return all(
        last in other.places or other.lies_apart(route)
        for other in ground.all_routes
        if other != route and place in other.places
    )
