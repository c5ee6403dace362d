"""Conflicts: which routes, and so which arms, can never be off together, and what sees to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.arms import Assignment
    from trappoint.network import Network
    from trappoint.routes import Route, Routes, Together

By = Literal["points", "direct"]


@dataclass(frozen=True, slots=True)
class ArmConflict:
    """A conflict between a stop arm and another one, both by their numbers."""

    other: int
    by: By
    """``points`` where the lies alone exclude it, ``direct`` where only locking does."""
    when: Mapping[str, str] | None
    """None where the two always conflict; else lies of points in which they do."""


def routes_conflict(one: Route, other: Route) -> By | None:
    """Tell whether two routes conflict, and whether the lies of points alone exclude it.

    By points: they need a lever differently. Direct: they have a place in common, and no lever
    tells them apart. Source of the distinction: trade usage of *conflicting* and *direct
    opposing* locking.
    """
    for lever, word in one.needs.items():
        if other.needs.get(lever, word) != word:
            return "points"
    return None if one.places.isdisjoint(other.places) else "direct"


def derive_conflicts(
    network: Network, routes: Routes, together: Together, assignment: Assignment
) -> list[tuple[ArmConflict, ...]]:
    """Derive, for every stop arm, the arms that it conflicts with, in the order of the plan."""
    arms_at: dict[int, set[int]] = {}
    for arm, own in enumerate(assignment.routes_of):
        for key in _meeting_keys(routes, together, own):
            arms_at.setdefault(key, set()).add(arm)
    found: list[tuple[ArmConflict, ...]] = []
    for arm, own in enumerate(assignment.routes_of):
        near: set[int] = set()
        for key in _meeting_keys(routes, together, own):
            near |= arms_at[key]
        near.discard(arm)
        conflicts: list[ArmConflict] = []
        for other in sorted(near):
            conflicts += _between(network, routes, own, other, assignment.routes_of[other])
        found.append(tuple(conflicts))
    return found


def _meeting_keys(routes: Routes, together: Together, own: tuple[int, ...]) -> set[int]:
    """Return what two conflicting arms have in common: a place, or a lever of several switches.

    Levers are numbered by the place of their first switch; a single switch is itself a place that
    its routes share, so only those worked together add a key, kept apart by its sign.
    """
    keys: set[int] = set()
    for number in own:
        route = routes.all[number]
        keys |= route.places
        keys |= {-1 - lever for lever in route.needs if len(together.members[lever]) > 1}
    return keys


def _between(
    network: Network, routes: Routes, own: tuple[int, ...], other: int, others: tuple[int, ...]
) -> list[ArmConflict]:
    pairs = {
        (mine, theirs): routes_conflict(routes.all[mine], routes.all[theirs])
        for mine in own
        for theirs in others
    }
    kinds = set(pairs.values())
    if None not in kinds:
        return [ArmConflict(other, "direct" if "direct" in kinds else "points", None)]
    varying = _varying(routes, own) | _varying(routes, others)
    result: dict[tuple[By, tuple[tuple[str, str], ...]], ArmConflict] = {}
    for (mine, theirs), by in pairs.items():
        if by is None:
            continue
        lies = {**routes.all[mine].lies, **routes.all[theirs].lies}
        when = {network.places[place].id: lie for place, lie in lies.items() if place in varying}
        result[by, tuple(when.items())] = ArmConflict(other, by, when)
    return list(result.values())


def _varying(routes: Routes, own: tuple[int, ...]) -> set[int]:
    """Return the switches that not all of these routes need in the same lie."""
    first = dict(routes.all[own[0]].lies)
    varying: set[int] = set()
    for number in own[1:]:
        lies = routes.all[number].lies
        varying |= {
            place for place in first.keys() | lies.keys() if first.get(place) != lies.get(place)
        }
    return varying
