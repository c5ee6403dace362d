"""The failures of the local test, each with a movement by which two trains meet, if any."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.errors import TooMany
from trappoint.verdict.approach import Approaches
from trappoint.verdict.free_runs import NOTHING, FreeMoves, path_back
from trappoint.verdict.movement_recorder import OUTSIDE, Script
from trappoint.verdict.pair_search import PairSearch
from trappoint.verdict.route_test import Cause, RouteTest
from trappoint.verdict.verdict import Failure

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.interlocking.routes import Route, Routes
    from trappoint.verdict.free_runs import FreeRun
    from trappoint.verdict.movements import Letter, Movement

MAX_TRIES = 8
"""The most routes tried that are nearer than a known failure, for a clearer movement."""

MAX_CAUSES = 2_000
"""The most routes tried in the way of one free run."""

MAX_STARTS = 40
"""The most approaches tried to one unheld stand."""

MAX_RESTS = 40
"""The most places tried in a free run for a train that waits."""


class WaitingTrain(NamedTuple):
    """A train that waits in its free run: its state, and the lies of levers that it holds."""

    state: int
    held: Mapping[int, str]


class Failing:
    """Looks for a failure at each unheld exit of one plan."""

    def __init__(self, moves: FreeMoves, routes: Routes, free_runs: list[FreeRun]) -> None:
        self.network = moves.network
        self.routes = routes
        self.together = moves.together
        self.free_runs = free_runs
        self.moves = moves
        self.test = RouteTest(routes, moves)
        self.unfinished = any(run.cut for run in free_runs)
        """True if the search reached a limit before it could judge every exit."""
        self.runs_at: dict[int, list[FreeRun]] = {}
        for run in free_runs:
            for place in run.reached:
                self.runs_at.setdefault(place, []).append(run)
        self.entry_at = {
            self.network.place_of[entry.state]: number
            for number, entry in enumerate(self.network.entries)
        }
        self._approaches: Approaches | None = None
        self._pairs: PairSearch | None = None

    @property
    def approaches(self) -> Approaches:
        """The search for approaches, made on first use."""
        if self._approaches is None:
            self._approaches = Approaches(self.moves, self.routes)
        return self._approaches

    @property
    def pairs(self) -> PairSearch:
        """The search through the whole game, made on first use."""
        if self._pairs is None:
            unheld = [run for run in self.free_runs if run.reached]
            within = frozenset[int]().union(*(self._within(run) for run in unheld))
            matters = {number for place in within for number in self.routes.having[place]}
            self._pairs = PairSearch(self.moves, self.routes, matters)
        return self._pairs

    def failures(self) -> Iterator[Failure]:
        """Yield a failure for each exit at which no signal holds a train, in order."""
        for run in self.free_runs:
            if run.reached:
                failure = self._first_failure(run)
                if failure is not None:
                    yield failure

    def _own(self, run: FreeRun) -> int:
        return self.network.place_of[run.start]

    def _first_failure(self, run: FreeRun) -> Failure | None:
        """Return the failure nearest to the stand, with its movement if there is one, or None."""
        if run.entry >= 0 and run.reached:
            return self._next_from_the_edge(run)
        certain = self._meets_a_train(run)
        if certain is None:
            return self._meets_a_route(run)
        return self._nearer_route(run, certain) or certain

    def _nearer_route(self, run: FreeRun, certain: Failure) -> Failure | None:
        own, tries = self._own(run), 0
        for place in run.reached:
            if place == certain.place or tries > MAX_TRIES:
                break
            for number in self.routes.having[place]:
                route = self.routes.all[number]
                if own in route.places:
                    continue
                tries += 1
                try:
                    self.test.look()
                    movement = self._across(run, place, route)
                except TooMany:
                    return None
                if movement is not None:
                    met = self._met_in(run, movement, place)
                    return Failure(run, "route-across", met, number, movement, True)
        return None

    def _met_in(self, run: FreeRun, movement: Movement, place: int) -> int:
        """Return the place of a free run in which two trains meet, or else ``place``."""
        places = self.network.places
        return next((met for met in run.reached if places[met].name == movement.meets_at), place)

    # --- conditions 0, 1 and 2

    def _begin(self, script: Script, train: Letter, run: FreeRun) -> None:
        """Bring a train into the state in which a free run begins."""
        if run.stand < 0:
            script.come_on(train, run.entry)
        else:
            script.set_off(train, run.start)

    def _start(self, run: FreeRun) -> int:
        return OUTSIDE if run.stand < 0 else self._own(run)

    def _next_from_the_edge(self, run: FreeRun) -> Failure:
        place, state = next(iter(run.reached.items()))
        script = Script(self.network, OUTSIDE, OUTSIDE)
        for train in ("A", "B"):
            script.come_on(train, run.entry)
            script.run(train, run.path_to(state))
        return Failure(run, "edge", place, self._own(run), script.movement(), True)

    def _meets_a_train(self, run: FreeRun) -> Failure | None:
        """Return the failure at the nearest place that another train can freely reach, or None."""
        for place, state in run.reached.items():
            if place in self.network.stand_at:
                script = Script(self.network, self._start(run), place)
            elif place in self.entry_at:
                script = Script(self.network, self._start(run), OUTSIDE)
                script.come_on("B", self.entry_at[place])
            else:
                met = self._meets_a_run(run, place)
                if met is not None:
                    return met
                continue
            self._begin(script, "A", run)
            script.run("A", run.path_to(state))
            return Failure(run, "stand", place, place, script.movement(), True)
        return self._meets_a_run(run, self._own(run))

    def _meets_a_run(self, run: FreeRun, place: int) -> Failure | None:
        own = self._own(run)
        for met in self.runs_at.get(place, ())[:MAX_TRIES]:
            theirs = self._own(met)
            if theirs == own:
                continue
            movement = self._two_free(run, met) or self._two_free(met, run, turned=True)
            if movement is not None:
                return Failure(run, "free-run", place, theirs, movement, True)
        return None

    def _two_free(self, run: FreeRun, met: FreeRun, *, turned: bool = False) -> Movement | None:
        """Return a movement in which one train waits in its free run and the other hits it."""
        one, other = ("B", "A") if turned else ("A", "B")
        tries = 0
        for rest in self._rests(run):
            place = self.network.place_of[rest.state]
            if place not in met.reached and place != self._own(met):
                continue
            tries += 1
            if tries > MAX_RESTS:
                break
            if place == self._own(met):
                continue  # ``_meets_a_train`` finds a train that stands there.
            came_from = self.moves.run((met.start,), rest.held)
            into = next((s for s in came_from if self.network.place_of[s] == place), None)
            if into is None:
                continue
            starts = self._start(run), self._start(met)
            script = Script(self.network, *(starts[::-1] if turned else starts))
            self._begin(script, one, run)  # type: ignore[arg-type] # these are letters
            script.run(one, run.path_to(rest.state))  # type: ignore[arg-type]
            self._begin(script, other, met)  # type: ignore[arg-type]
            script.run(other, path_back(came_from, into))  # type: ignore[arg-type]
            return script.movement()
        return None

    def _rests(self, run: FreeRun) -> Iterator[WaitingTrain]:
        """Yield the states in which a train may wait in its free run, nearest first."""
        for state in run.came_from:
            place = self.network.place_of[state]
            if state == run.start:
                continue
            if not self.network.is_element[place]:
                yield WaitingTrain(state, NOTHING)
                continue
            for exit_ in self.network.exits[state]:
                if self.moves.lets(exit_, NOTHING):
                    if exit_.element < 0:
                        yield WaitingTrain(state, NOTHING)
                        break
                    lever = self.together.lever_of[exit_.element]
                    yield WaitingTrain(state, {lever: self.together.word(exit_.element, exit_.lie)})

    # --- conditions 3 and 4

    def _meets_a_route(self, run: FreeRun) -> Failure | None:
        causes: list[Cause] = []
        try:
            for cause in self.test.causes(run):
                causes.append(cause)
                if len(causes) > MAX_CAUSES:
                    raise TooMany
            return self._from_causes(run, causes)
        except TooMany:
            self.unfinished = True
        if not causes:
            return None
        kind, place, route = causes[0]
        return Failure(run, kind, place, route, None, False)

    def _from_causes(self, run: FreeRun, causes: list[Cause]) -> Failure | None:
        """Return the failure that comes from the routes that break the test, or None."""
        for kind, place, route in causes:
            found = self._by_a_standing_train(run, kind, place, self.routes.all[route])
            if found is not None:
                met = self._met_in(run, found, place)
                return Failure(run, kind, met, route, found, True)
        # If no train can reach the signal of a route even alone, the route does no harm.
        live = [cause for cause in causes if self._can_be_taken(cause.route)]
        shared = [met for place in (self._own(run), *run.reached) for met in
                  self.runs_at.get(place, ()) if self._own(met) != self._own(run)]  # fmt: skip
        if live or shared:
            return self._by_all_pairs(run, live or causes)
        if causes:
            kind, place, route = causes[0]
            return Failure(run, kind, place, route, None, True)
        return None

    def _can_be_taken(self, route: int) -> bool:
        signal = self.network.held_at[self.routes.all[route].head]
        return self.approaches.find(signal, -1, ()) is not None

    def _by_a_standing_train(
        self, run: FreeRun, kind: str, place: int, route: Route
    ) -> Movement | None:
        if kind == "route-behind":
            return self._behind(run, place)
        return self._across(run, place, route) or self._across_later(run, place, route)

    def _across(self, run: FreeRun, place: int, route: Route) -> Movement | None:
        """Return a movement: A stands, B runs to its signal and takes the route, A runs into it."""
        own = self._own(run)
        signal = self.network.held_at[route.head]
        approach = self.approaches.find(signal, own, (own,))
        if approach is None:
            return None
        script = Script(self.network, self._start(run), approach.start)
        if run.stand < 0:
            script.come_on("A", run.entry)
        approach.play(script, "B", self.routes)
        if run.stand >= 0:
            script.set_off("A", run.start)
        return self._collide(script, run, route)

    def _across_later(self, run: FreeRun, place: int, route: Route) -> Movement | None:
        """Return a movement like ``_across``, but with B at its signal before A is in the stand."""
        signal = self.network.held_at[route.head]
        waiting = self.network.place_of[signal]
        tries = self.approaches.find_all(run.start, waiting, (waiting,))
        for _, comes in zip(range(MAX_STARTS), tries, strict=False):
            static = comes.start
            approach = self.approaches.find(signal, static, (static,))
            if approach is not None and approach.first != static:
                script = Script(self.network, comes.start, approach.start)
                approach.play(script, "B", self.routes)
                comes.play(script, "A", self.routes)
                movement = self._collide(script, run, route)
                if movement is not None:
                    return movement
        return None

    def _collide(self, script: Script, run: FreeRun, route: Route) -> Movement | None:
        """Add the last steps: A runs from the start of the free run into the route of B."""
        if script.met:
            return script.movement()
        into = self.test.way_into(run, route)
        if into is None:
            return None
        before, after = into
        script.run("A", before)
        script.take("B", route)
        script.run("A", after)
        script.run("B", route.path)
        return script.movement()

    def _behind(self, run: FreeRun, place: int) -> Movement | None:
        """Return a movement: A runs on in the free run, B follows into the stand, B runs into A."""
        own = self._own(run)
        if place == own:
            return None
        state = run.reached[place]
        if self.network.is_element[place]:
            # It runs on until no points are under it.
            state = next((s for s in self.moves.onward(state, NOTHING)), state)
        ahead, waits = run.path_to(state), self.network.place_of[state]
        if self.network.is_element[waits] or waits == own:
            return None
        approach = self.approaches.find(run.start, waits, (own, waits))
        if approach is None:
            return None
        script = Script(self.network, self._start(run), approach.start)
        self._begin(script, "A", run)
        script.run("A", ahead)
        approach.play(script, "B", self.routes)
        script.run("B", run.path_to(state))
        return script.movement()

    def _within(self, run: FreeRun) -> frozenset[int]:
        return frozenset((self._own(run), *run.reached))

    def _by_all_pairs(self, run: FreeRun, causes: list[Cause]) -> Failure | None:
        try:
            movement = self.pairs.meeting_in(self._within(run))
            decided = True
        except TooMany:
            movement, decided = None, False
        if not causes:
            if movement is None and decided:
                return None
            met = next(m for p in (self._own(run), *run.reached) for m in self.runs_at.get(p, ())
                       if self._own(m) != self._own(run))  # fmt: skip
            place = next(iter(run.reached), self._own(run))
            return Failure(run, "free-run", place, self._own(met), movement, decided)
        kind, place, route = causes[0]
        return Failure(run, kind, place, route, movement, decided)
