"""Condition 3 of the local test: the routes that break the test of a free run."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.core.errors import TooMany
from trappoint.verdict.free_runs import path_back

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.interlocking.routes import Route, Routes
    from trappoint.verdict.free_runs import FreeMoves, FreeRun

MAX_LOOKS = 1_000_000
"""The most routes and places of free runs compared in one plan."""


class Cause(NamedTuple):
    """A route that breaks the test, and the place in the free run that shows it."""

    kind: Literal["route-across", "route-behind"]
    place: int
    route: int


class RouteTest:
    """Compares the free runs and the routes of one plan."""

    def __init__(self, routes: Routes, moves: FreeMoves) -> None:
        self.network = moves.network
        self.routes = routes
        self.moves = moves
        self.looks_left = MAX_LOOKS

    def look(self, times: int = 1) -> None:
        """Count comparisons; raises ``TooMany`` after ``MAX_LOOKS`` of them."""
        self.looks_left -= times
        if self.looks_left < 0:
            raise TooMany

    def causes(self, run: FreeRun) -> Iterator[Cause]:
        """Yield every route that breaks the test of a free run."""
        own = self.network.place_of[run.start]
        every = frozenset((own, *run.reached))
        seen: set[int] = set()
        for place in (*run.reached, own):
            for number in self.routes.having[place]:
                self.look()
                if number in seen:
                    continue
                seen.add(number)
                cause = self._touching(run, own, every, place, number)
                if cause is not None:
                    yield cause

    def _touching(
        self, run: FreeRun, own: int, every: frozenset[int], place: int, number: int
    ) -> Cause | None:
        route = self.routes.all[number]
        if every <= route.places:
            return None
        if own not in route.places:
            if self._kept_out(run, every, route):
                return None
            return Cause("route-across", place, number)
        left = next((p for p in run.reached if p not in route.places), None)
        return Cause("route-behind", place if left is None else left, number)

    def _kept_out(self, run: FreeRun, every: frozenset[int], route: Route) -> bool:
        """Return whether the lies of a route keep every train in the free run out of it."""
        place_of = self.network.place_of
        if place_of[route.path[-1]] in every:
            return False
        starts = [state for state in run.came_from if place_of[state] not in route.places]
        self.look(len(run.came_from))
        reached = self.moves.run(starts, route.needs)
        return all(place_of[state] not in route.places for state in reached)

    def way_into(self, run: FreeRun, route: Route) -> tuple[list[int], list[int]] | None:
        """Return how a train runs into a route of another train, None if it cannot.

        The first list has the states before the route is given, the second those after.
        """
        place_of = self.network.place_of
        closed = route.places | {place_of[self.network.held_at[route.head]]}
        for state in run.came_from:
            path = run.path_to(state)
            if not any(place_of[passed] in closed for passed in path):
                self.look(len(run.came_from))
                after = self._first_inside(state, route, closed)
                if after is not None:
                    return path, after
        return None

    def _first_inside(self, start: int, route: Route, closed: frozenset[int]) -> list[int] | None:
        """Return how a train enters a route while it is promised, None if the lies prevent it."""
        place_of = self.network.place_of
        came_from = self.moves.run((start,), route.needs)
        for state in came_from:
            if state == start or place_of[state] not in route.places:
                continue
            path = path_back(came_from, state)
            if not any(place_of[passed] in closed for passed in path[:-1]):
                return path
        return None
