"""How one train can come to a signal while the other stands still: a search backwards.

Trains that can come to a signal mostly stand close to it, or come on at an edge close to it, so the
search looks from the signal outwards and ends at the first of these; it does not grow with the
plan.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.errors import TooMany
from trappoint.verdict.free_runs import NOTHING
from trappoint.verdict.movement_recorder import OUTSIDE

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from trappoint.interlocking.routes import Routes
    from trappoint.verdict.free_runs import FreeMoves
    from trappoint.verdict.movement_recorder import Script
    from trappoint.verdict.movements import Letter


MAX_STEPS = 400_000
"""The ways of coming to a state that all searches in a plan together may look at."""


class ApproachLeg(NamedTuple):
    """One part of an approach: a route taken or not, states run through, a heading taken."""

    route: int
    """The route taken first, -1 where none is."""
    run: tuple[int, ...]
    sets_off: int
    """The state in which the train then sets off anew, -1 where it does not."""


class Approach(NamedTuple):
    """How a train comes from a stand or an edge to a state, with nothing promised to it then."""

    start: int
    """The place in which it stands at first; ``OUTSIDE`` where it comes on at an edge."""
    entry: int
    """The edge by which it comes on; -1 where it stands at first."""
    first: int
    """The first place in which it is."""
    legs: tuple[ApproachLeg, ...]

    def play(self, script: Script, train: Letter, routes: Routes) -> None:
        """Write the approach into a movement."""
        if self.entry >= 0:
            script.come_on(train, self.entry)
        for leg in self.legs:
            if leg.route >= 0:
                script.take(train, routes.all[leg.route])
            script.run(train, leg.run)
            if leg.sets_off >= 0:
                script.set_off(train, leg.sets_off)


class Approaches:
    """Searches approaches in one plan; keeps the moves and routes by where they lead."""

    def __init__(self, moves: FreeMoves, routes: Routes, most_steps: int = MAX_STEPS) -> None:
        self.network = network = moves.network
        self.routes = routes
        self.steps_left = most_steps
        self.before: list[list[int]] = [[] for _ in network.place_of]
        for state in range(len(network.place_of)):
            for to in moves.onward(state, NOTHING):
                self.before[to].append(state)
        self.entries = {entry.state: number for number, entry in enumerate(network.entries)}
        self.ending: dict[int, list[int]] = {}
        for number, route in enumerate(routes.all):
            self.ending.setdefault(route.path[-1], []).append(number)

    def find(self, target: int, blocked: int, barred: Collection[int]) -> Approach | None:
        """Return a shortest approach to a state, None if there is none.

        The train never comes into the place ``blocked`` (-1: all are open), in which the other
        train stands, and takes no route that has it. It starts in none of the places ``barred``.
        Raises ``TooMany`` where all searches together have looked at too much.
        """
        return next(self.find_all(target, blocked, barred), None)

    def find_all(self, target: int, blocked: int, barred: Collection[int]) -> Iterator[Approach]:
        """Yield an approach from each stand and edge from which there is one, nearest first."""
        network = self.network
        if network.place_of[target] == blocked:
            return
        onward: dict[int, tuple[ApproachLeg, int] | None] = {target: None}
        queue = [target]
        begun: set[int] = set()
        for state in queue:
            self.steps_left -= 1
            if self.steps_left < 0:
                raise TooMany
            place = network.place_of[state]
            stand = network.stand_at.get(place)
            sets_off = stand is not None and state in network.stands[stand].states
            if sets_off and place not in barred and place not in begun:
                begun.add(place)
                legs = (ApproachLeg(-1, (), state), *self._legs_from(state, onward))
                yield Approach(place, -1, place, legs)
            entry = self.entries.get(state)
            if entry is not None:
                # From outside it may come even where another train stood at first.
                yield Approach(OUTSIDE, entry, place, tuple(self._legs_from(state, onward)))
            for leg, origin in self._arrivals(state, place, sets_off, blocked):
                if origin not in onward:
                    onward[origin] = leg, state
                    queue.append(origin)

    def _legs_from(
        self, state: int, onward: dict[int, tuple[ApproachLeg, int] | None]
    ) -> Iterator[ApproachLeg]:
        while (step := onward[state]) is not None:
            leg, state = step
            yield leg

    def _arrivals(
        self, state: int, place: int, sets_off: bool, blocked: int
    ) -> Iterator[tuple[ApproachLeg, int]]:
        """Yield each way of coming to a state, with the state in which that way begins."""
        network, routes = self.network, self.routes
        for origin in self.before[state]:
            if network.place_of[origin] != blocked:
                yield ApproachLeg(-1, (state,), -1), origin
        ending = self.ending.get(state, ())
        self.steps_left -= len(ending)
        for number in ending:
            if blocked not in routes.all[number].places:
                origin = network.held_at[routes.all[number].head]
                if network.place_of[origin] != blocked:
                    yield ApproachLeg(number, routes.all[number].path, -1), origin
        if not sets_off:
            return
        for other in network.states_of[place]:
            if other != state:
                yield ApproachLeg(-1, (), state), other
        for number in routes.having[place]:
            route = routes.all[number]
            origin = network.held_at[route.head]
            if blocked in route.places or network.place_of[origin] == blocked:
                continue
            for step, passed in enumerate(route.path):
                if network.place_of[passed] == place:
                    yield ApproachLeg(number, route.path[: step + 1], state), origin
                    break
