"""The steps of two trains on a plan worked by its printed table: a transition system.

Each train is in one of finitely many *states*: outside, off the line in a drag, or on a spot, with
its route, if it has one. ``plain`` steps do not depend on the other train. ``asked`` steps do: to
come on at an edge, to be given a route, to run freely over points or a slip. The state after an
asked step has its conditions; ``may`` returns whether the other train meets them.

A route of the other train counts in one of two ways. *Released behind the train*: a place counts
until the train has run off it, lies and directions until the last place is reached. *Locked to the
end* (``strict``): everything counts until the last place is reached, as in a frame without release.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

from proof.guards import guarding, is_kept_back
from proof.printed import Grant, Printed
from proof.roads import Roads, Spot, Way
from proof.routes import are_opposed, into_drag, runs_along

AT_REST = -1
COMES_ON = -2


class State(NamedTuple):
    """The spot of a train, and the number of its grant."""

    spot: Spot
    grant: int = AT_REST
    """AT_REST for none, COMES_ON for a train that has just come on at an edge."""
    switch: str = ""
    lie: str = ""
    """The lie of the points or slip under a train that ran on to them freely."""

    @property
    def place(self) -> str:
        return self.spot[0]


OUTSIDE = State(("", "outside"))
OFF_THE_LINE = State(("", "off the line"))

Pair = tuple[int, int]


class System:
    """The states of one train by number, and the steps of two trains."""

    def __init__(self, printed: Printed, *, strict: bool = False) -> None:
        self.printed = printed
        self.roads: Roads = printed.roads
        self.grants: Sequence[Grant] = printed.grants
        self.strict = strict
        self.guards = guarding(self.roads, printed.routes)
        self.states: list[State] = []
        self.plain: list[list[int]] = []
        self.asked: list[list[int]] = []
        self._from: dict[Spot, list[int]] = {}
        for number, grant in enumerate(self.grants):
            self._from.setdefault(grant.route.start, []).append(number)
        self._numbers: dict[State, int] = {}
        self.starts = [self._number(State((place, ""))) for place in self.roads.stands]
        if self.roads.edges:
            self.starts.append(self._number(OUTSIDE))
        for number in self._unfolding():
            state = self.states[number]
            self.plain[number] = sorted({self._number(to) for to in self._plain(state)} - {number})
            self.asked[number] = sorted({self._number(to) for to in self._asked(state)})

    def _number(self, state: State) -> int:
        if state not in self._numbers:
            self._numbers[state] = len(self.states)
            self.states.append(state)
            self.plain.append([])
            self.asked.append([])
        return self._numbers[state]

    def _unfolding(self) -> Iterator[int]:
        done = 0
        while done < len(self.states):
            yield done
            done += 1

    # ---- the steps of one train

    def _plain(self, state: State) -> Iterable[State]:
        for heading in self.roads.stands.get(state.place, ()):
            yield State((state.place, heading))
        if state.grant == COMES_ON:
            yield State(state.spot)
        elif state.grant != AT_REST:
            yield self._next(state)
        else:
            yield from (self._beyond(way) for way in self._free(state) if not way.switch)
            gates = self.roads.gates.get(state.spot, ())
            if any(gate.leaves and gate.head is None for gate in gates):
                yield OUTSIDE

    def _next(self, state: State) -> State:
        """Return the state after the next place of a route."""
        ahead = self.ahead(state)
        if len(ahead) > 1:
            return State(ahead[0], state.grant)
        route = self.grants[state.grant].route
        return OFF_THE_LINE if into_drag(self.roads, route) else State(ahead[0])

    def _free(self, state: State) -> Iterator[Way]:
        """Return the free moves, each with the points or slip that the train then runs on to."""
        for gate in self.roads.gates.get(state.spot, ()):
            for way in gate.ways:
                if gate.head is None and way.lie == state.lie:
                    beyond = way._replace(switch="", lie="", facing=False)
                    onto = way.to[0] in self.roads.elements
                    through = self.roads.gates[way.to] if onto else ()
                    lies = {(on.switch, on.lie, on.facing) for gate in through for on in gate.ways}
                    for switch, lie, facing in sorted(lies):
                        yield beyond._replace(switch=switch, lie=lie, facing=facing)
                    if not lies:
                        yield beyond

    def _beyond(self, way: Way) -> State:
        return OFF_THE_LINE if way.to[0] in self.roads.drags else State(way.to)

    def _asked(self, state: State) -> Iterable[State]:
        if state == OUTSIDE:
            yield from (State(spot, COMES_ON) for _, spot in self.roads.edges)
        elif state.grant == AT_REST:
            yield from (State(state.spot, number) for number in self._from.get(state.spot, ()))
            for way in self._free(state):
                if way.switch and not is_kept_back(self.roads, self.guards, way):
                    yield State(way.to, AT_REST, way.switch, way.lie)

    # ---- what a train denies the other

    def ahead(self, state: State) -> tuple[Spot, ...]:
        """Return the rest of a train's route."""
        if state.grant < 0:
            return ()
        route = self.grants[state.grant].route
        if state.spot == route.start:
            return route.path
        return route.path[route.path.index(state.spot) + 1 :]

    @cached_property
    def promised(self) -> list[frozenset[str]]:
        """For each state, the places of the route that the train still has ahead."""
        return [frozenset(place for place, _ in self.ahead(state)) for state in self.states]

    @cached_property
    def lies(self) -> list[dict[str, str]]:
        """For each state, the lies of lever groups that the route needs or the train is on."""
        found = []
        for state in self.states:
            if state.switch:
                told = {state.switch: state.lie}
            else:
                told = dict(self.grants[state.grant].route.lies) if state.grant >= 0 else {}
            found.append(self.roads.levers_of(told) or {})
        return found

    @cached_property
    def let(self) -> list[frozenset[int]]:
        """For each grant, the grants that may share a promised place with it, a table's fault."""
        found: list[set[int]] = [set() for _ in self.grants]
        for one, other in self._grant_pairs():
            first, second = self.grants[one], self.grants[other]
            near = first.route.places & second.route.places and not self._run_along(one, other)
            if near and not self.printed.forbidden(first, second):
                found[one].add(other)
                found[other].add(one)
        return [frozenset(each) for each in found]

    @cached_property
    def against(self) -> list[frozenset[int]]:
        """For each grant, the grants that conflict with it until the last place is reached."""
        found: list[set[int]] = [set() for _ in self.grants]
        for one, other in self._grant_pairs():
            first, second = self.grants[one], self.grants[other]
            lasting = self.strict or are_opposed(first.route, second.route)
            lasting = lasting and not self._run_along(one, other)
            if lasting and self.printed.forbidden(first, second):
                found[one].add(other)
                found[other].add(one)
        return [frozenset(each) for each in found]

    def _grant_pairs(self) -> Iterator[Pair]:
        numbers = range(len(self.grants))
        return ((one, other) for one in numbers for other in numbers[one:])

    def _run_along(self, one: int, other: int) -> bool:
        first, second = self.grants[one].route, self.grants[other].route
        return runs_along(first, second) or runs_along(second, first)

    def is_asked(self, number: int) -> bool:
        """Return whether a state follows an asked step."""
        state = self.states[number]
        if state.grant == AT_REST:
            return state.switch != ""
        return state.grant == COMES_ON or state.spot == self.grants[state.grant].route.start

    def may(self, number: int, other: int) -> bool:
        """Return whether a train may enter a state by an asked step, given the other train."""
        wanted, has = self.states[number], self.states[other]
        kept = self.promised[other] | {has.place}
        if wanted.grant == COMES_ON:
            return wanted.place not in kept
        if any(self.lies[other].get(g, how) != how for g, how in self.lies[number].items()):
            return False
        if wanted.grant == AT_REST:
            return True
        places = self.grants[wanted.grant].route.places
        if has.place in places or has.grant in self.against[wanted.grant]:
            return False
        return has.grant in self.let[wanted.grant] or not places & self.promised[other]

    def come_on(self, number: int) -> int:
        """Return the state of a train after it has come on; any other state unchanged."""
        state = self.states[number]
        return self._numbers[State(state.spot)] if state.grant == COMES_ON else number

    def meet(self, pair: Pair) -> bool:
        one, other = (self.states[number].place for number in pair)
        return one == other != ""

    def are_starts(self, pair: Pair) -> bool:
        return set(pair) <= set(self.starts) and not self.meet(pair)

    # ---- runs

    def run_through(self, pairs: Sequence[Pair]) -> list[Pair]:
        """Return a run as single steps of one train each, up to the first meeting.

        It checks every step again, and raises AssertionError if one is not allowed.
        """
        assert self.are_starts(pairs[0])
        steps = [pairs[0]]
        for pair in pairs[1:]:
            now = steps[-1]
            moving = 0 if pair[1] == now[1] else 1
            assert pair[1 - moving] == now[1 - moving]
            for state in self._way(now[moving], pair[moving]):
                steps.append((state, now[1]) if moving == 0 else (now[0], state))
                if self.meet(steps[-1]):
                    return self._looked_at(steps)
        raise AssertionError("the trains have not met")

    def _way(self, start: int, goal: int) -> list[int]:
        """Return a shortest way in steps of one train; only the last may be an asked step."""
        before = {start: start}
        queue = [start]
        for state in queue:
            if goal in self.asked[state] or goal in self.plain[state]:
                way = [goal, state]
                while way[-1] != start:
                    way.append(before[way[-1]])
                return way[-2::-1]
            for after in self.plain[state]:
                if after not in before:
                    before[after] = state
                    queue.append(after)
        raise AssertionError("there is no such way")

    def _looked_at(self, steps: list[Pair]) -> list[Pair]:
        for before, after in pairwise(steps):
            moving = 0 if before[1] == after[1] else 1
            one, to, other = before[moving], after[moving], before[1 - moving]
            assert before[1 - moving] == after[1 - moving] and not self.meet(before)
            assert to in self.plain[one] or (to in self.asked[one] and self.may(to, other))
        return steps
