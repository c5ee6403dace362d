"""Approaches: how one train reaches a signal while the other stands still.

The search runs backwards, from the signal outwards, to the nearest stand or edge. That is mostly
close, so the time of the search does not grow with the plan.
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
"""The most steps of all searches in a plan together."""


class ApproachLeg(NamedTuple):
    """A part of an approach: a route (or none), the states run through, then a new heading."""

    route: int
    """The route taken first, -1 for none."""
    run: tuple[int, ...]
    sets_off: int
    """The state in which the train then sets off again, -1 if it does not."""


class Approach(NamedTuple):
    """The way of a train from a stand or an edge to a state, with no promise left at the end."""

    start: int
    """The place in which it stands at first, ``OUTSIDE`` if it comes on at an edge."""
    entry: int
    """The edge at which it comes on, -1 if it stands at first."""
    first: int
    """Its first place on the plan."""
    legs: tuple[ApproachLeg, ...]

    def play(self, script: Script, train: Letter, routes: Routes) -> None:
        """Record the approach in a movement."""
        if self.entry >= 0:
            script.come_on(train, self.entry)
        for leg in self.legs:
            if leg.route >= 0:
                script.take(train, routes.all[leg.route])
            script.run(train, leg.run)
            if leg.sets_off >= 0:
                script.set_off(train, leg.sets_off)


class Approaches:
    """Searches for approaches in one plan, with its moves and routes indexed by their ends."""

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

        The other train stands in the place ``blocked`` (-1 for nowhere): the approach neither
        enters it nor takes a route that has it. It starts in none of the places ``barred``. Raises
        ``TooMany`` after ``most_steps`` steps of all searches.
        """
        return next(self.find_all(target, blocked, barred), None)

    def find_all(self, target: int, blocked: int, barred: Collection[int]) -> Iterator[Approach]:
        """Yield one approach from each stand and edge that has any, nearest first."""
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
                # A train from outside may come on even through the stand of another train.
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
        """Yield each last leg to a state, with the state in which it begins."""
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
