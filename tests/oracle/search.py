"""Trains on a plan, moved in every way that its signals allow: can two be brought together?

The search looks at every state that the trains can be brought into, breadth first, so that the
movement it finds is a shortest one. It is the definition of "the plan holds" written out, and
knows no better way to the verdict.
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


class _Trains:
    """The states that one train can come to, numbered as they are met, with what it may do there.

    For each state its place and its claims (bit sets), and what it may do: the state after it and
    the claims that exclude it.
    """

    def __init__(self, ground: Ground) -> None:
        self._ground = ground
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
            self.claims.append(self._set(claims(self._ground, train)))
            self.next.append(None)
        return number

    def look_ahead(self, number: int) -> list[tuple[int, int]]:
        found = [
            (self.number(act.after), self._set(act.barred))
            for act in steps_of(self._ground, self.trains[number])
        ]
        self.next[number] = found
        return found

    def _set(self, of_claims: Iterable[Claim]) -> int:
        bits = 0
        for claim in of_claims:
            bits |= self._bits.setdefault(claim, 1 << len(self._bits))
        return bits


def search(ground: Ground, number: int, limit: int) -> MovementJson | None:
    """A shortest movement by which two of so many trains come to be in one place, or None.

    Raises TooLargeError beyond `limit` states.
    """
    trains = _Trains(ground)
    place, of_claims, following = trains.place, trains.claims, trains.next
    # The trains are alike: a state is the same with its trains changed over, and is kept sorted.
    before: dict[State, tuple[State, int, int] | None] = dict.fromkeys(_starts(trains, number))
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
                    return _movement(ground, trains, before, reached)
                queue.append(reached)
        if len(before) > limit:
            raise TooLargeError(f"more than {limit} states")
    return None


def _starts(trains: _Trains, number: int) -> Iterable[State]:
    """All that the trains may be at first: outside or in stands, no two in one place."""
    outside = trains.number(OUTSIDE)
    alone = [outside, *(trains.number(start_of(place)) for place in trains._ground.stands)]
    for state in combinations_with_replacement(alone, number):
        on = [each for each in state if each != outside]
        if len(on) == len(set(on)):
            yield state


def _movement(
    ground: Ground,
    trains: _Trains,
    before: Mapping[State, tuple[State, int, int] | None],
    met: State,
) -> MovementJson:
    """The steps that led to a meeting: states back to the start, then forward train by train."""
    moves = []
    state = met
    while (earlier := before[state]) is not None:
        state, mover, after = earlier
        moves.append((mover, after))
    now = list(state)
    starts = {LABELS[n]: trains.trains[each].place or None for n, each in enumerate(now)}
    steps = []
    for mover, after in reversed(moves):
        position = now.index(mover)
        others = [trains.trains[each] for n, each in enumerate(now) if n != position]
        step = _step_between(ground, trains.trains[mover], trains.trains[after], others)
        steps.append({"train": LABELS[position], **step})
        now[position] = after
    return {"starts": starts, "steps": steps}


def _step_between(ground: Ground, one: Train, after: Train, others: list[Train]) -> Step:
    theirs = frozenset().union(*(claims(ground, other) for other in others))
    return next(
        act.step for act in steps_of(ground, one) if act.after == after and act.allowed(theirs)
    )
