"""Pairs of routes that exclude each other.

Two routes conflict if they need a group in different positions (by ``points``), share a place, or
pass a joint, cut or track end in opposite directions (both ``direct``). A shunt route along a
stop route, from a head that the stop route passes, is part of it and does not conflict.
"""

from __future__ import annotations

from itertools import combinations
from typing import NamedTuple

from oracle.directions import along
from oracle.ground import Ground, Route
from oracle.heads import Plan


class RouteName(NamedTuple):
    """A route as a table names it. Routes over the same places in other ways share a name."""

    signal: str
    kind: str
    over: tuple[str, ...]


def conflict(ground: Ground, one: Route, other: Route) -> str | None:
    """How two routes exclude each other: by `points`, or else `direct`; None if they do not."""
    if along(one, other) or along(other, one):
        return None
    if one.lies_apart(other):
        return "points"
    against = other.number in ground.opposed[one.number]
    return "direct" if against or not one.places.isdisjoint(other.places) else None


def conflicts_of(plan: Plan) -> list[tuple[RouteName, RouteName, str | None]]:
    """For each pair of routes of a plan whether and how they conflict."""
    ground = Ground(plan)
    return [
        (_name(one), _name(other), conflict(ground, one, other))
        for one, other in combinations(ground.all_routes, 2)
    ]


def _name(route: Route) -> RouteName:
    return RouteName(route.signal, route.kind, tuple(route.over))
