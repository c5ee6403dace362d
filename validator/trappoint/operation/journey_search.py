"""The shortest journey of one train while all others stand: Dijkstra's search over its states.

*Shortest* is exact: first the fewest stops to set off again (to turn back, or in a yard); then the
fewest places (sections, points, crossings, turntables, yards); then the fewest times that a signal
gives leave. Lengths do not count, because plans may omit them. Of equal journeys, the search takes
the first in the order of the plan.

A train comes to rest in a stand, and at each signal at which a route ends. A train of known length
comes to rest only where it fits (see ``dimensions.longest``).

A *node* is a state (see ``network``), in which the train may go on in its heading. Nodes after all
states are places in which the train stands without a heading.
"""

from __future__ import annotations

from heapq import heappop, heappush
from itertools import pairwise
from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.core.errors import TooMany
from trappoint.dimensions.longest import UNSEEN_MM, Rests
from trappoint.operation.leave import find_leave

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from trappoint.facts.facts import Facts

Cost = tuple[int, int, int]
"""The stops to set off again, the places run over, and the times that a signal gives leave."""

NOTHING: Cost = (0, 0, 0)


class JourneyLeg(NamedTuple):
    """One part of a journey."""

    do: Literal["set-off", "take", "run"]
    states: tuple[int, ...]
    """The state in which it sets off (set-off), or the states that it runs through."""
    route: int = -1
    """The route that it takes, -1 for none. The leg may end before the route, in a stand."""


class Goal(NamedTuple):
    """The goal of a journey."""

    places: frozenset[int]
    states: frozenset[int] | None = None
    """The states that the train may have when it comes in; None for any."""
    leaves: bool = False
    """Whether the train leaves the plan there, and so need not fit."""


class JourneyAim(NamedTuple):
    """A condition on the way: run over one of these places, or pass one of these arms."""

    places: frozenset[int] = frozenset()
    arms: frozenset[int] = frozenset()


class Journey(NamedTuple):
    """A journey from rest to rest."""

    start: int
    """The first node."""
    end: int
    """The node at which the train comes to rest."""
    legs: tuple[JourneyLeg, ...]
    cost: Cost

    @property
    def stops(self) -> int:
        """The number of stops to set off again."""
        return self.cost[0]

    def run_over(self) -> Iterator[int]:
        """Yield the states that the train runs through, in order."""
        for leg in self.legs:
            if leg.do != "set-off":
                yield from leg.states


class _Move(NamedTuple):
    """One leg from a node, and the node after it."""

    leg: JourneyLeg
    node: int
    cost: Cost
    arms: frozenset[int] = frozenset()


MAX_STEPS = 3_000_000
"""Most nodes for all searches of one question together."""


class Finder:
    """The search for journeys in one plan."""

    def __init__(self, facts: Facts, most_steps: int = MAX_STEPS) -> None:
        self.facts = facts
        self.network = facts.network
        self.routes = facts.routes
        self.leave = find_leave(facts)
        self.count = len(self.network.place_of)
        self.steps_left = most_steps
        self.routes_from: dict[int, list[int]] = {}
        for number in self.leave:
            held_at = self.network.held_at[self.routes.all[number].head]
            self.routes_from.setdefault(held_at, []).append(number)
        self.rests_at = Rests(facts.network)
        self._moves: dict[int, list[_Move]] = {}

    # --- nodes

    def standing(self, place: int) -> int:
        """Return the node of a train that stands in this place."""
        return self.count + place

    def place(self, node: int) -> int:
        """Return the place of a node."""
        return node - self.count if node >= self.count else self.network.place_of[node]

    def rests(self, node: int) -> bool:
        """Return whether a train may stay at this node: in a stand, or held by a signal."""
        if node >= self.count:
            return True
        place = self.network.place_of[node]
        return place not in self.network.stand_at and self.network.facing[node] >= 0

    def takes(self, state: int) -> float | None:
        """Return the longest train that may come to rest in a state, in mm; None if unknown."""
        behind = self.rests_at.behind(state)
        return None if behind is None else behind.at_most_mm

    def fits(self, state: int, length_mm: float | None) -> bool:
        """Return whether a train fits when it comes to rest in a state; True if unknown."""
        takes = None if length_mm is None else self.takes(state)
        return takes is None or length_mm is None or length_mm <= takes + UNSEEN_MM

    def too_short(self, journey: Journey, goal: Goal, length_mm: float | None) -> int | None:
        """Return a state of a journey in which a train of this length does not fit.

        The last state comes before those on the way. None if the train fits everywhere.
        """
        rests = [] if goal.leaves else [journey.legs[-1].states[-1]]
        for leg, onward in pairwise(journey.legs):
            state = leg.states[-1]
            if leg.do != "set-off" and (onward.do == "set-off" or self.network.facing[state] >= 0):
                rests.append(state)
        return next((state for state in rests if not self.fits(state, length_mm)), None)

    def needs(self, journey: Journey) -> set[int]:
        """Return the places that must be free of other trains for a journey."""
        found: set[int] = set()
        for leg in journey.legs:
            if leg.route >= 0:
                found |= self.routes.all[leg.route].places
            elif leg.do == "run":
                found.update(self.network.place_of[state] for state in leg.states)
        return found

    # --- searches

    def find(
        self,
        start: int,
        goal: Goal,
        taken: Collection[int] = (),
        wants: tuple[JourneyAim, ...] = (),
        *,
        sets_off: frozenset[int] | None = None,
        without: int = -1,
        length_mm: float | None = None,
    ) -> Journey | None:
        """Return the shortest journey to a goal; None if there is none.

        ``taken`` are the places of all other trains. The train must set off in a state of
        ``sets_off``, and must not take the route ``without``. ``length_mm`` is its length. Raises
        ``TooMany`` when all searches together reach their limit.
        """
        begin = start, self._met_at(wants, self.place(start))
        best: dict[tuple[int, int], Cost] = {begin: NOTHING}
        came: dict[tuple[int, int], tuple[tuple[int, int], JourneyLeg]] = {}
        done = (1 << len(wants)) - 1
        arrived = (-1, done)
        queue: list[tuple[Cost, int, tuple[int, int]]] = [(NOTHING, 0, begin)]
        met = 0
        while queue:
            cost, _, at = heappop(queue)
            if at == arrived:
                return self._journey(start, came, cost, arrived)
            if cost > best[at]:
                continue
            self.spend()
            node, mask = at
            for move in self._moves_from(node):
                if move.leg.route == without >= 0 or self._blocked(move.leg, taken):
                    continue
                if at == begin and sets_off is not None and move.node not in sets_off:
                    continue
                after = self._add(cost, move, first=at == begin)
                masked = mask | self._met(wants, move)
                ends = masked == done and self._is_goal(goal, move)
                ends = ends and (goal.leaves or self.fits(move.leg.states[-1], length_mm))
                onward = [(move.node, masked)] if self._goes_on(at[0], move, length_mm) else []
                for reached in (arrived, *onward) if ends else onward:
                    if reached not in best or after < best[reached]:
                        best[reached] = after
                        came[reached] = at, move.leg
                        met += 1
                        heappush(queue, (after, met, reached))
        return None

    def reach(
        self, start: int, taken: Collection[int], length_mm: float | None = None
    ) -> dict[int, Journey]:
        """Return the shortest journey to each node at which the train may stay.

        ``length_mm`` is its length. Raises ``TooMany`` like ``find``.
        """
        best: dict[tuple[int, int], Cost] = {(start, 0): NOTHING}
        came: dict[tuple[int, int], tuple[tuple[int, int], JourneyLeg]] = {}
        queue: list[tuple[Cost, int, int]] = [(NOTHING, 0, start)]
        found: dict[int, Journey] = {}
        met = 0
        while queue:
            cost, _, node = heappop(queue)
            if cost > best[node, 0]:
                continue
            self.spend()
            if node != start and self.rests(node):
                found[node] = self._journey(start, came, cost, (node, 0))
            for move in self._moves_from(node):
                if self._blocked(move.leg, taken) or not self._goes_on(node, move, length_mm):
                    continue
                after = self._add(cost, move, first=node == start)
                reached = (move.node, 0)
                if reached not in best or after < best[reached]:
                    best[reached] = after
                    came[reached] = (node, 0), move.leg
                    met += 1
                    heappush(queue, (after, met, move.node))
        return found

    def spend(self, steps: int = 1) -> None:
        """Count search steps. Raises ``TooMany`` at the limit."""
        self.steps_left -= steps
        if self.steps_left < 0:
            raise TooMany

    @staticmethod
    def _add(cost: Cost, move: _Move, *, first: bool) -> Cost:
        stops, places, leaves = move.cost
        # The train does not stop to set off the first time.
        stops = 0 if first else stops
        return cost[0] + stops, cost[1] + places, cost[2] + leaves

    def _blocked(self, leg: JourneyLeg, taken: Collection[int]) -> bool:
        if not taken or leg.do == "set-off":
            return False
        if leg.route >= 0:
            return not self.routes.all[leg.route].places.isdisjoint(taken)
        return any(self.network.place_of[state] in taken for state in leg.states)

    def _goes_on(self, node: int, move: _Move, length_mm: float | None) -> bool:
        """Return whether a train fits after a move, if it comes to rest there."""
        if length_mm is None or move.leg.do == "set-off":
            return True
        state = move.leg.states[-1] if move.leg.states else node
        rests = move.node >= self.count or self.network.facing[state] >= 0
        return not rests or self.fits(state, length_mm)

    @staticmethod
    def _met_at(wants: tuple[JourneyAim, ...], place: int) -> int:
        return sum(1 << number for number, want in enumerate(wants) if place in want.places)

    def _met(self, wants: tuple[JourneyAim, ...], move: _Move) -> int:
        met = 0
        for number, want in enumerate(wants):
            over = move.leg.states if move.leg.do != "set-off" else ()
            if not want.arms.isdisjoint(move.arms) or any(
                self.network.place_of[state] in want.places for state in over
            ):
                met |= 1 << number
        return met

    def _is_goal(self, goal: Goal, move: _Move) -> bool:
        """Return whether the last state of a move is at the goal."""
        if move.leg.do == "set-off" or not move.leg.states:
            return False
        last = move.leg.states[-1]
        return self.network.place_of[last] in goal.places and (
            goal.states is None or last in goal.states
        )

    def _journey(
        self,
        start: int,
        came: Mapping[tuple[int, int], tuple[tuple[int, int], JourneyLeg]],
        cost: Cost,
        at: tuple[int, int],
    ) -> Journey:
        legs: list[JourneyLeg] = []
        end = at[0]
        while at in came:
            at, leg = came[at]
            if leg.states:
                legs.append(leg)
        legs.reverse()
        if end < 0:
            end = self.standing(self.network.place_of[legs[-1].states[-1]])
        return Journey(start, end, tuple(legs), cost)

    # --- moves

    def _moves_from(self, node: int) -> list[_Move]:
        moves = self._moves.get(node)
        if moves is None:
            moves = self._moves[node] = list(
                self._from_stand(node - self.count)
                if node >= self.count
                else self._from_state(node)
            )
        return moves

    def _from_stand(self, place: int) -> Iterator[_Move]:
        for state in self.network.stands[self.network.stand_at[place]].states:
            yield _Move(JourneyLeg("set-off", (state,)), state, (1, 0, 0))

    def _from_state(self, state: int) -> Iterator[_Move]:
        network = self.network
        if self._may_stop(state):
            yield _Move(JourneyLeg("run", ()), self.standing(network.place_of[state]), NOTHING)
        for exit_ in network.exits[state]:
            if exit_.head < 0:
                yield _Move(JourneyLeg("run", (exit_.to,)), exit_.to, (0, 1, 0))
        for number in self.routes_from.get(state, ()):
            path = self.routes.all[number].path
            arms = frozenset(self.leave[number].arms)
            for count, passed in enumerate(path[:-1], 1):
                if self._may_stop(passed):
                    stopped = self.standing(network.place_of[passed])
                    yield _Move(
                        JourneyLeg("take", path[:count], number), stopped, (0, count, 1), arms
                    )
            yield _Move(JourneyLeg("take", path, number), path[-1], (0, len(path), 1), arms)

    def _may_stop(self, state: int) -> bool:
        """Return whether a train in this state may stand there and set off again."""
        stand = self.network.stand_at.get(self.network.place_of[state])
        return stand is not None and state in self.network.stands[stand].states
