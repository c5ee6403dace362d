"""Where the local test fails, and the movement that comes of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from trappoint.approach import Approaches
from trappoint.pair_search import PairSearch
from trappoint.script import Script
from trappoint.verdict import Failure, TooMany

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.free_runs import FreeRun
    from trappoint.movements import Movement
    from trappoint.network import Network
    from trappoint.routes import Route, Routes

MOST_TRIES = 8
"""Routes nearer than a certain failure that are tried, for the more telling story."""

MOST_LOOKS = 1_000_000
"""Routes and places of free runs that are compared in one plan before it is given up."""

MOST_CAUSES = 2_000
"""Routes that are in the way of one free run and are tried."""

MOST_STARTS = 40
"""Stands that are tried for the train that must come to the unheld stand."""


Cause = tuple[Literal["route-across", "route-behind"], int, int]
"""What a route does to a free run, the place that tells, and the route."""


class Failing:
    """Looks for what goes wrong at every exit of every stand of one plan."""

    def __init__(self, network: Network, routes: Routes, free_runs: list[FreeRun]) -> None:
        self.network = network
        self.routes = routes
        self.free_runs = free_runs
        self.unfinished = any(run.cut for run in free_runs)
        """True where an exit was found neither held nor unheld: there is too much to look at."""
        self.looks_left = MOST_LOOKS
        self.runs_at: dict[int, list[FreeRun]] = {}
        for run in free_runs:
            for place in run.reached:
                self.runs_at.setdefault(place, []).append(run)
        self._approaches: Approaches | None = None
        self._pairs: PairSearch | None = None

    @property
    def approaches(self) -> Approaches:
        """The search for approaches, made when it is first needed."""
        if self._approaches is None:
            self._approaches = Approaches(self.network, self.routes)
        return self._approaches

    def failures(self) -> Iterator[Failure]:
        """Yield every exit at which a train is not held, in the order of the stands."""
        for run in self.free_runs:
            if run.reached:
                failure = self._first_failure(run)
                if failure is not None:
                    yield failure

    def _first_failure(self, run: FreeRun) -> Failure | None:
        """Find what goes wrong nearest to the stand, with its movement where there is one."""
        certain = self._meets_a_stand(run)
        if certain is None:
            return self._meets_a_route(run)
        own = self.network.stands[run.stand].place
        tries = 0
        for place in run.reached:
            if place == certain.place or tries > MOST_TRIES:
                break
            for number in self.routes.having[place]:
                self.looks_left -= 1
                if self.looks_left < 0:
                    return certain
                route = self.routes.all[number]
                if own not in route.places:
                    tries += 1
                    try:
                        movement = self._across(run, place, route)
                    except TooMany:
                        return certain
                    if movement is not None:
                        return Failure(run, "route-across", place, number, movement, True)
        return certain

    # --- conditions 1 and 2

    def _meets_a_stand(self, run: FreeRun) -> Failure | None:
        """Find the nearest place of the free run to which a train from another stand can come."""
        own = self.network.stands[run.stand].place
        for place, state in run.reached.items():
            other = self.network.stand_at.get(place)
            if other is not None:
                script = Script(self.network, own, place)
                script.set_off("A", run.start)
                script.run("A", run.path_to(state))
                return Failure(run, "stand", place, other, script.movement(), True)
            met = next((met for met in self.runs_at[place] if met.stand != run.stand), None)
            if met is not None:
                theirs = self.network.stands[met.stand].place
                script = Script(self.network, own, theirs)
                script.set_off("A", run.start)
                script.run("A", run.path_to(state))
                script.set_off("B", met.start)
                script.run("B", met.path_to(met.reached[place]))
                return Failure(run, "free-run", place, met.stand, script.movement(), True)
        return None

    # --- condition 3

    def _meets_a_route(self, run: FreeRun) -> Failure | None:
        causes: list[Cause] = []
        try:
            for cause in self._routes_in_the_way(run):
                causes.append(cause)
                if len(causes) > MOST_CAUSES:
                    raise TooMany
            return self._from_causes(run, causes)
        except TooMany:
            self.unfinished = True
        if not causes:
            return None
        kind, place, route = causes[0]
        return Failure(run, kind, place, route, None, False)

    def _from_causes(self, run: FreeRun, causes: list[Cause]) -> Failure | None:
        """Find what comes of the routes that have some of a free run but not all."""
        for kind, place, route in causes:
            found = self._by_a_standing_train(run, kind, place, self.routes.all[route])
            if found is not None:
                return Failure(run, kind, place, route, found, True)
        # A route whose signal no train can ever come to, with all else away, does no harm.
        live = [cause for cause in causes if self._can_be_taken(cause[2])]
        if live:
            return self._by_all_pairs(run, live)
        if causes:
            kind, place, route = causes[0]
            return Failure(run, kind, place, route, None, True)
        return None

    def _routes_in_the_way(self, run: FreeRun) -> Iterator[Cause]:
        """Yield every route that has some of F but not all, with the place that tells."""
        own = self.network.stands[run.stand].place
        seen: set[int] = set()
        for place in run.reached:
            for number in self.routes.having[place]:
                self._look()
                if number not in seen and own not in self.routes.all[number].places:
                    seen.add(number)
                    yield "route-across", place, number
        for number in self.routes.having[own]:
            for place in run.reached:
                self._look()
                if place not in self.routes.all[number].places:
                    yield "route-behind", place, number

    def _look(self) -> None:
        self.looks_left -= 1
        if self.looks_left < 0:
            raise TooMany

    def _can_be_taken(self, route: int) -> bool:
        signal = self.network.held_at[self.routes.all[route].head]
        return self.approaches.find(signal, -1, ()) is not None

    def _by_a_standing_train(
        self, run: FreeRun, kind: str, place: int, route: Route
    ) -> Movement | None:
        if kind == "route-behind":
            return self._behind(run, place, route)
        return self._across(run, place, route) or self._across_later(run, place, route)

    def _across(self, run: FreeRun, place: int, route: Route) -> Movement | None:
        """A stands; B comes to its signal and takes the route; A sets off into it."""
        own = self.network.stands[run.stand].place
        signal = self.network.held_at[route.head]
        approach = self.approaches.find(signal, own, (own,))
        if approach is None:
            return None
        script = Script(self.network, own, approach.start)
        approach.play(script, "B", self.routes)
        script.set_off("A", run.start)
        self._collide(script, run, place, route)
        return script.movement()

    def _across_later(self, run: FreeRun, place: int, route: Route) -> Movement | None:
        """B goes to its signal first; only then does A come into the stand."""
        signal = self.network.held_at[route.head]
        waiting = self.network.place_of[signal]
        tries = self.approaches.find_all(run.start, waiting, (waiting,))
        for _, comes in zip(range(MOST_STARTS), tries, strict=False):
            approach = self.approaches.find(signal, comes.start, (comes.start,))
            if approach is not None:
                script = Script(self.network, comes.start, approach.start)
                approach.play(script, "B", self.routes)
                comes.play(script, "A", self.routes)
                self._collide(script, run, place, route)
                return script.movement()
        return None

    def _collide(self, script: Script, run: FreeRun, place: int, route: Route) -> None:
        script.take("B", route)
        script.run("A", run.path_to(run.reached[place]))
        script.run("B", route.path)

    def _behind(self, run: FreeRun, place: int, route: Route) -> Movement | None:
        """A runs ahead into the free run; B follows into the stand by the route, and on."""
        own = self.network.stands[run.stand].place
        signal = self.network.held_at[route.head]
        approach = self.approaches.find(signal, place, (own, place))
        if approach is None:
            return None
        ahead = run.path_to(run.reached[place])
        script = Script(self.network, own, approach.start)
        script.set_off("A", run.start)
        script.run("A", ahead)
        approach.play(script, "B", self.routes)
        script.take("B", route)
        stop = next(
            step for step, state in enumerate(route.path) if self.network.place_of[state] == own
        )
        script.run("B", route.path[: stop + 1])
        script.set_off("B", run.start)
        script.run("B", ahead)
        return script.movement()

    def _by_all_pairs(self, run: FreeRun, causes: list[Cause]) -> Failure:
        if self._pairs is None:
            self._pairs = PairSearch(self.network, self.routes)
        own = self.network.stands[run.stand].place
        kind, place, route = causes[0]
        try:
            movement = self._pairs.meeting_in(frozenset((own, *run.reached)))
        except TooMany:
            return Failure(run, kind, place, route, None, False)
        return Failure(run, kind, place, route, movement, True)
