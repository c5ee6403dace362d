"""Routes along which trains pass a joint, a cut or the end of a track in opposite directions."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from oracle.ground import Route


def along(main: Route, shunt: Route) -> bool:
    """Return whether a stop route passes the head of a shunt route and contains that route."""
    return (
        main.kind == "stop"
        and shunt.kind == "shunt"
        and any(
            head == shunt.head and main.spots[before : before + len(shunt.spots)] == shunt.spots
            for before, head in main.heads
        )
    )


def opposed_routes(routes: Sequence[Route]) -> list[frozenset[int]]:
    """Return for each route the numbers of the routes opposed to it.

    A shunt route along a stop route is part of it, and not opposed to it.
    """
    passing: defaultdict[tuple[str, ...], defaultdict[str, set[int]]]
    passing = defaultdict(lambda: defaultdict(set))
    for route in routes:
        for spot, way in route.passes:
            passing[spot][way].add(route.number)
    found = []
    for route in routes:
        met = {
            number
            for spot, way in route.passes
            for their_way, numbers in passing[spot].items()
            if their_way != way
            for number in numbers
        }
        others = {number: routes[number] for number in met}
        found.append(
            frozenset(
                number
                for number, other in others.items()
                if not (along(route, other) or along(other, route))
            )
        )
    return found
