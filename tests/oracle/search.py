"""Exhaustive search: can trains on a plan meet if each obeys the signals?

The search visits every state that the trains can reach, breadth first, so the first movement to a
meeting is a shortest one. This is the definition of "the plan holds", without any shortcut: if the
queue runs empty, no two trains can meet. A state is a sorted tuple of train states, because the
trains are interchangeable.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from itertools import combinations_with_replacement
from typing import Any

from oracle.game import OUTSIDE, Claim, Step, Train, claims, start_of, steps_of
from oracle.ground import Ground, TooLargeError

MovementJson = dict[str, Any]
State = tuple[int, ...]
LABELS = "ABC"


class Trains:
    """The states that one train can reach, numbered in the order of the search.

    For each state: its place and its claims, as bit sets, and its acts, as pairs of the next state
    and the claims that bar the act.
    """

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self._numbers: dict[Train, int] = {}
        self._bits: dict[Claim, int] = {}
        self.trains: list[Train] = []
        self.place: list[int] = []
        self.claims: list[int] = []
        self.next: list[list[tuple[int, int]] | None] = []

    def number(self, train: Train) -> int:
        number = self._numbers.get(train)
        if number is None:
            number = self._numbers[train] = len(self.trains)
            self.trains.append(train)
            here: list[Claim] = [] if train.place == "" else [("place", train.place)]
            self.place.append(self._set(here))
            self.claims.append(self._set(claims(self.ground, train)))
            self.next.append(None)
        return number

    def look_ahead(self, number: int) -> list[tuple[int, int]]:
        found = [
            (self.number(act.after), self._set(act.barred))
            for act in steps_of(self.ground, self.trains[number])
        ]
        self.next[number] = found
        return found

    def _set(self, of_claims: Iterable[Claim]) -> int:
        bits = 0
        for claim in of_claims:
            bits |= self._bits.setdefault(claim, 1 << len(self._bits))
        return bits


def search(ground: Ground, number: int, limit: int) -> MovementJson | None:
    """Return a shortest movement by which two of `number` trains meet; None if they cannot.

    For two trains, `oracle.pairs` visits the same states faster. Raises TooLargeError beyond
    `limit` states.
    """
    trains = Trains(ground)
    place, of_claims, following = trains.place, trains.claims, trains.next
    # The trains are interchangeable, so the states are sorted tuples.
    before: dict[State, tuple[State, int, int] | None] = dict.fromkeys(starts(trains, number))
    queue = deque(before)
    while queue:
        state = queue.popleft()
        for position, mover in enumerate(state):
            rest = state[:position] + state[position + 1 :]
            theirs = places = 0
            for other in rest:
                theirs |= of_claims[other]
                places |= place[other]
            for after, barred in following[mover] or trains.look_ahead(mover):
                if barred & theirs:
                    continue
                reached = tuple(sorted((*rest, after)))
                if reached in before:
                    continue
                before[reached] = (state, mover, after)
                if place[after] & places:
                    return movement(trains, *_traced(before, reached))
                queue.append(reached)
        if len(before) > limit:
            raise TooLargeError(f"more than {limit} states")
    return None


def starts(trains: Trains, number: int) -> Iterable[State]:
    """Yield the first states: each train outside or in a stand, no two in one place."""
    outside = trains.number(OUTSIDE)
    alone = [outside, *(trains.number(start_of(place)) for place in trains.ground.stands)]
    for state in combinations_with_replacement(alone, number):
        on = [each for each in state if each != outside]
        if len(on) == len(set(on)):
            yield state


def _traced(
    before: Mapping[State, tuple[State, int, int] | None], met: State
) -> tuple[State, list[tuple[int, int]]]:
    """Return the first state of the movement that ends in `met`, and its moves."""
    moves = []
    state = met
    while (earlier := before[state]) is not None:
        state, mover, after = earlier
        moves.append((mover, after))
    return state, moves[::-1]


def movement(trains: Trains, first: State, moves: Iterable[tuple[int, int]]) -> MovementJson:
    """Return a movement with its labels, from its first state and its moves."""
    now = list(first)
    from_places = {LABELS[n]: trains.trains[each].place or None for n, each in enumerate(now)}
    steps = []
    for mover, after in moves:
        position = now.index(mover)
        others = [trains.trains[each] for n, each in enumerate(now) if n != position]
        step = _step_between(trains.ground, trains.trains[mover], trains.trains[after], others)
        steps.append({"train": LABELS[position], **step})
        now[position] = after
    return {"starts": from_places, "steps": steps}


def _step_between(ground: Ground, one: Train, after: Train, others: list[Train]) -> Step:
    theirs = frozenset().union(*(claims(ground, other) for other in others))
    return next(
        act.step for act in steps_of(ground, one) if act.after == after and act.allowed(theirs)
    )
