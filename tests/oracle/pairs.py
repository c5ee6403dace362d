"""Exhaustive search with two trains, many states at a time.

It visits the states of ``oracle.search``, level by level, so the first movement to a meeting is a
shortest one. A bit set holds, for each state of one train, the states of the other train: one
operation on it tries an act of the one train against all states of the other.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from oracle.ground import Ground, TooLargeError
from oracle.search import MovementJson, State, Trains, movement, starts

Level = dict[int, int]
"""Pairs of train states: for each state of one train, the set of states of the other."""


def meeting_of_two(ground: Ground, limit: int) -> MovementJson | None:
    """Return a shortest movement by which two trains meet; None if they cannot.

    Raises TooLargeError beyond `limit` states.
    """
    return _Pairs(ground, limit).search()


class _Pairs:
    """Two trains: the acts of either, and the pairs of states that they have reached.

    `acts` holds for each train state the pairs of the next state and of the set of states of the
    other train that do not bar the act. `together` holds the states in the same place.
    """

    def __init__(self, ground: Ground, limit: int) -> None:
        self.limit = limit
        self.trains = Trains(ground)
        self.starts = list(starts(self.trains, 2))
        self._explore()
        holders, there = defaultdict[int, int](int), defaultdict[int, int](int)
        for number, of_claims in enumerate(self.trains.claims):
            there[self.trains.place[number]] |= 1 << number
            for claim in _bits(of_claims):
                holders[claim] |= 1 << number
        self.together = [there[place] if place else 0 for place in self.trains.place]
        everything = (1 << len(self.trains.trains)) - 1
        free = {0: everything}
        self.acts: list[list[tuple[int, int]]] = []
        for following in self.trains.next:
            found = []
            for after, barred in following or ():
                if barred not in free:
                    free[barred] = everything
                    for claim in _bits(barred):
                        free[barred] &= ~holders[claim]
                found.append((after, free[barred]))
            self.acts.append(found)

    def _explore(self) -> None:
        """Number all states of one train; each is reached while the other train is outside."""
        number = 0
        while number < len(self.trains.trains):
            self.trains.look_ahead(number)
            number += 1
            if number > self.limit:
                raise TooLargeError(f"more than {self.limit} states")

    def search(self) -> MovementJson | None:
        reached = [0] * len(self.acts)
        level: Level = {}
        for one, other in self.starts:
            for a, b in ((one, other), (other, one)):
                level[a] = level.get(a, 0) | 1 << b
                reached[a] |= 1 << b
        count = len(self.starts)
        levels = []
        while level:
            levels.append(level)
            beyond: Level = defaultdict(int)
            for one, others in level.items():
                for after, free in self.acts[one]:
                    new = others & free & ~reached[after]
                    if not new:
                        continue
                    met = new & self.together[after]
                    if met:
                        return self._movement(levels, after, next(_bits(met)))
                    reached[after] |= new
                    beyond[after] |= new
                    for other in _bits(new):  # the same two trains, the other one first
                        reached[other] |= 1 << after
                        beyond[other] |= 1 << after
                    count += new.bit_count()
            if count > self.limit:
                raise TooLargeError(f"more than {self.limit} states")
            level = beyond
        return None

    def _movement(self, levels: list[Level], one: int, other: int) -> MovementJson:
        """Return the steps to a meeting, traced back through the levels."""
        moves = []
        for level in reversed(levels):
            before, after, still = self._earlier(level, one, other)
            moves.append((before, after))
            one, other = before, still
        first: State = tuple(sorted((one, other)))
        return movement(self.trains, first, reversed(moves))

    def _earlier(self, level: Level, one: int, other: int) -> tuple[int, int, int]:
        """Return a move from a pair of a level to a given pair, and the train that stays."""
        return next(
            (before, after, still)
            for after, still in ((one, other), (other, one))
            for before, others in level.items()
            if others >> still & 1
            for reached, free in self.acts[before]
            if reached == after and free >> still & 1
        )


def _bits(number: int) -> Iterator[int]:
    """Yield the places of the bits of a number that are 1."""
    while number:
        low = number & -number
        yield low.bit_length() - 1
        number ^= low
