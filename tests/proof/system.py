"""What two trains can do on a plan that is worked by its printed table: a transition system.

Each train is in one of finitely many *states*: a spot, and the route that it is running over or
about to. From a state it may go on by itself (``plain``), or be given a route (``takes``), for
which the road must be clear: no place of the route is occupied by the other train, and the table
does not forbid it together with the route that the other train has.

How long a route of the other train counts is told in two ways. *Released behind the train*: as
long as it still has a place ahead that the asked-for route has too. That is the definition of when
a plan holds, but for a conflict that the table lacks. *Locked to the end* (``strict``): until the
other train has run all of its route. That allows less, as a frame without release would.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property
from itertools import pairwise
from typing import Any, NamedTuple

from proof.printed import Grant, Printed
from proof.roads import Roads, Spot

AT_REST = -1


class State(NamedTuple):
    """Where one train is, and the number of the grant that it has, AT_REST for none."""

    spot: Spot
    grant: int = AT_REST

    @property
    def place(self) -> str:
        return self.spot[0]


Pair = tuple[int, int]


class System:
    """The states of one train by number, and what two of them may do."""

    def __init__(self, printed: Printed, *, strict: bool = False) -> None:
        self.printed = printed
        self.roads: Roads = printed.roads
        self.grants: Sequence[Grant] = printed.grants
        self.strict = strict
        self.states: list[State] = []
        self.plain: list[list[int]] = []
        self.takes: list[list[int]] = []
        """For each state the states that a grant leads to; the asked-for one is in the state."""
        self._from: dict[Spot, list[int]] = {}
        for number, grant in enumerate(self.grants):
            self._from.setdefault(grant.route.start, []).append(number)
        self._numbers: dict[State, int] = {}
        self.starts = [self._number(State((place, ""))) for place in self.roads.stands]
        for number in self._unfolding():
            state = self.states[number]
            self.plain[number] = sorted({self._number(to) for to in self._plain(state)} - {number})
            self.takes[number] = [self._number(to) for to in self._takes(state)]

    def _number(self, state: State) -> int:
        if state not in self._numbers:
            self._numbers[state] = len(self.states)
            self.states.append(state)
            self.plain.append([])
            self.takes.append([])
        return self._numbers[state]

    def _unfolding(self) -> Iterable[int]:
        done = 0
        while done < len(self.states):
            yield done
            done += 1

    def _plain(self, state: State) -> Iterable[State]:
        for heading in self.roads.stands.get(state.place, ()):
            yield State((state.place, heading))
        if state.grant != AT_REST:
            ahead = self.ahead(state)
            yield State(ahead[0], state.grant if len(ahead) > 1 else AT_REST)
            return
        for gate in self.roads.gates.get(state.spot, ()):
            if gate.head is None:
                for way in gate.ways:
                    yield State(way.to)

    def _takes(self, state: State) -> Iterable[State]:
        if state.grant == AT_REST:
            for number in self._from.get(state.spot, ()):
                yield State(state.spot, number)

    def ahead(self, state: State) -> tuple[Spot, ...]:
        """What a train still has to run over of its route."""
        if state.grant == AT_REST:
            return ()
        route = self.grants[state.grant].route
        if state.spot == route.start:
            return route.path
        return route.path[route.path.index(state.spot) + 1 :]

    @cached_property
    def promised(self) -> list[frozenset[str]]:
        """For each state the places of the route that the train still has ahead."""
        return [frozenset(place for place, _ in self.ahead(state)) for state in self.states]

    @cached_property
    def let(self) -> list[frozenset[int]]:
        """For each grant those that matter to it and that the table does not forbid with it.

        Released behind the train: of those that have a place in common with it.
        """
        found: list[set[int]] = [set() for _ in self.grants]
        for one, grant in enumerate(self.grants):
            for other in range(one, len(self.grants)):
                near = self.strict or grant.route.places & self.grants[other].route.places
                if near and not self.printed.forbidden(grant, self.grants[other]):
                    found[one].add(other)
                    found[other].add(one)
        return [frozenset(each) for each in found]

    def may_take(self, number: int, other: int) -> bool:
        """Whether a train may come into a state by being given its grant, as the other one is."""
        wanted = self.grants[self.states[number].grant].route.places
        has = self.states[other]
        if has.place in wanted:
            return False
        if has.grant == AT_REST or has.grant in self.let[self.states[number].grant]:
            return True
        return not self.strict and not wanted & self.promised[other]

    def meet(self, pair: Pair) -> bool:
        return self.states[pair[0]].place == self.states[pair[1]].place

    def are_starts(self, pair: Pair) -> bool:
        return set(pair) <= set(self.starts) and pair[0] != pair[1]

    # ---- runs

    def run_through(self, pairs: Sequence[Pair]) -> list[Pair]:
        """Go from each pair to the next by single steps of one train, up to the first meeting.

        Every step is looked at again; raises AssertionError where one is not allowed.
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
        """A shortest way of one train's steps, the last of which alone may be a grant."""
        before = {start: start}
        queue = [start]
        for state in queue:
            if goal in self.takes[state] or goal in self.plain[state]:
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
            taken = to in self.takes[one] and self.may_take(to, other)
            assert to in self.plain[one] or taken
        return steps

    def movement(self, steps: Sequence[Pair]) -> dict[str, Any]:
        """A run in the form in which the check shows movements."""
        starts = {label: self.states[n].place for label, n in zip("AB", steps[0], strict=True)}
        told = []
        for before, after in pairwise(steps):
            moving = 0 if before[1] == after[1] else 1
            step = {"train": "AB"[moving], **self._step(before[moving], after[moving])}
            told.append(step)
        return {"starts": starts, "steps": told}

    def _step(self, before: int, after: int) -> dict[str, Any]:
        to = self.states[after]
        if after in self.takes[before]:
            route = self.grants[to.grant].route
            over = [place for place, _ in route.path]
            return {"do": "take", "signal": route.head.signal, "over": over}
        if to.place == self.states[before].place and to.grant == AT_REST:
            sets_off = to.spot[1] in self.roads.stands.get(to.place, ())
            if sets_off:
                return {"do": "set-off", "heading": to.spot[1] or None}
        return {"do": "run", "to": to.place}
