"""Clearing a road: the fewest trains to move first, and their moves.

One train moves at a time, from rest to rest. The search tries sets of trains, the smallest sets
first. For each set it searches the positions of its trains and of the train that wants the road,
best first. The answer is exact: the fewest trains, then the fewest moves, then the fewest stops to
set off again, then the fewest places. It says if the search reached its limit.
"""

from __future__ import annotations

from heapq import heappop, heappush
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.errors import TooMany

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.operation.journey_search import Finder, Goal, Journey, JourneyAim
    from trappoint.operation.standing import Stood


class Shift(NamedTuple):
    """One move of one train, while all others stand."""

    train: str
    journey: Journey


class ClearingWish(NamedTuple):
    """The question: a train as it stands, and the conditions of its last move."""

    train: Stood
    goal: Goal
    wants: tuple[JourneyAim, ...] = ()
    sets_off: frozenset[int] | None = None
    """The states that the train may have when it sets off; None for any."""


class Cleared(NamedTuple):
    """The answer."""

    shifts: tuple[Shift, ...] | None
    """All moves in order, the last one that of the question; None if it is impossible."""
    first: tuple[str, ...] = ()
    """The trains that move first."""
    decided: bool = True
    """False if the search reached its limit, so that there may be a better answer."""


def shortest(
    finder: Finder, wish: ClearingWish, taken: frozenset[int], without: int = -1
) -> Journey | None:
    """Return the shortest journey of the train while all others stand; None if there is none.

    Raises ``TooMany``.
    """
    found = [
        journey
        for node in wish.train.nodes
        if (
            journey := finder.find(
                node,
                wish.goal,
                taken,
                wish.wants,
                sets_off=wish.sets_off,
                without=without,
                length_mm=wish.train.length_mm,
            )
        )
    ]
    return min(found, key=lambda journey: journey.cost, default=None)


def clear(finder: Finder, wish: ClearingWish, others: tuple[Stood, ...]) -> Cleared:
    """Return the fewest trains to move first, with their moves; no trains if the road is free."""
    try:
        for count in range(len(others) + 1):
            best: tuple[_Rank, Cleared] | None = None
            for chosen in combinations(range(len(others)), count):
                found = _Clearing(finder, wish, others, chosen).search(best[0] if best else None)
                best = found or best
            if best is not None:
                return best[1]
    except TooMany:
        return Cleared(best[1].shifts, best[1].first, decided=False) if best else GIVEN_UP
    return Cleared(None)


GIVEN_UP = Cleared(None, decided=False)

_Rank = tuple[int, int, int, int]
"""Moves, stops, places, leaves."""

NOTHING: _Rank = (0, 0, 0, 0)

_State = tuple[tuple[int, ...], int]
"""The nodes of the train that wants the road and of the chosen trains (-1: the first place), and a
bit for each chosen train that has moved."""


_Reach = tuple[int, int, frozenset[int], "float | None"]
"""The train (-1: any), its node, the places of the others, and its length."""


class _Clearing:
    """The search in which one set of trains may move."""

    def __init__(
        self, finder: Finder, wish: ClearingWish, others: tuple[Stood, ...], chosen: tuple[int, ...]
    ) -> None:
        self.finder = finder
        self.wish = wish
        self.movers = (wish.train, *(others[number] for number in chosen))
        self.fixed = frozenset(
            place
            for number, other in enumerate(others)
            if number not in chosen
            for place in other.takes
        )
        self.unhindered: dict[int, Journey | None] = {}
        """The shortest journey from each node of the train that wants the road, without the chosen
        trains."""
        self.reached: dict[_Reach, dict[int, Journey]] = {}

    def search(self, below: _Rank | None) -> tuple[_Rank, Cleared] | None:
        """Return the best answer that ranks below ``below``; None if there is none."""
        if shortest(self.finder, self.wish, self.fixed) is None:
            return None  # Impossible even without the chosen trains.
        begin: _State = ((-1,) * len(self.movers), 0)
        best: dict[_State, _Rank] = {begin: NOTHING}
        came: dict[_State, tuple[_State, Shift]] = {}
        # Each state is tried twice: first with the moves that promise most (of trains that have
        # not moved yet, or the last move), then, ranked one move later, with all others.
        queue: list[tuple[_Rank, int, _State, bool, Shift | None]] = []
        heappush(queue, (self._hoped(NOTHING, begin), 0, begin, True, None))
        met = 0
        while queue:
            hoped, _, state, first, last = heappop(queue)
            if below is not None and hoped >= below:
                return None
            if last is not None:
                return hoped, self._cleared(state, came, last)
            rank = best[state]
            if hoped > _sum(self._hoped(rank, state), (0 if first else 1, 0, 0, 0)):
                continue
            if first:
                met += 1
                heappush(queue, (_sum(hoped, (1, 0, 0, 0)), met, state, False, None))
            for after, added, shift in self._shifts(state, came, first=first):
                met += 1
                total = _sum(rank, added)
                if after is None:
                    heappush(queue, (total, met, state, True, shift))
                elif after not in best or total < best[after]:
                    best[after] = total
                    came[after] = state, shift
                    heappush(queue, (self._hoped(total, after), met, after, True, None))
        return None

    def _hoped(self, rank: _Rank, state: _State) -> _Rank:
        """Return the least rank through this state: each train that must move moves once."""
        still = len(self.movers) - 1 - state[1].bit_count()
        return (rank[0] + still + 1, *rank[1:])

    def _shifts(
        self, state: _State, came: dict[_State, tuple[_State, Shift]], *, first: bool
    ) -> Iterator[tuple[_State | None, _Rank, Shift]]:
        """Yield the next moves, each with the state after it; None after the last move.

        With ``first``, yield the last move if all chosen trains have moved, otherwise the moves of
        those that have not. Without it, yield all other moves.
        """
        nodes, moved = state
        just = came[state][1].train if state in came else None
        if first and moved.bit_count() == len(self.movers) - 1:
            journey = self._last(nodes)
            if journey is not None:
                yield None, (1, *journey.cost), Shift(self.movers[0].train, journey)
        for number, mover in enumerate(self.movers):
            bit = 1 << (number - 1) if number else 0
            if mover.train == just or first is bool(not number or moved & bit):
                continue  # Two moves of one train in a row can be one move.
            for node, journey in self._reach(number, nodes).items():
                after = (*nodes[:number], node, *nodes[number + 1 :])
                yield (after, moved | bit), (1, *journey.cost), Shift(mover.train, journey)

    def _last(self, nodes: tuple[int, ...]) -> Journey | None:
        """Return the shortest last move; None if there is none."""
        node = nodes[0]
        wish = self.wish
        if node >= 0:
            wish = wish._replace(train=self.movers[0]._replace(nodes=(node,)))
        if node not in self.unhindered:
            self.unhindered[node] = shortest(self.finder, wish, self.fixed)
        best = self.unhindered[node]
        taken = self._taken_but(0, nodes)
        # The shortest journey stays the shortest if more trains stand beside it.
        if best is None or self.finder.needs(best).isdisjoint(taken):
            return best
        return shortest(self.finder, wish, taken)

    def _taken_but(self, number: int, nodes: tuple[int, ...]) -> frozenset[int]:
        """Return the places of all trains except one."""
        others = (self._takes(other, nodes) for other in range(len(nodes)) if other != number)
        return self.fixed.union(*others)

    def _takes(self, number: int, nodes: tuple[int, ...]) -> frozenset[int]:
        node = nodes[number]
        return self.movers[number].takes if node < 0 else frozenset((self.finder.place(node),))

    def _reach(self, number: int, nodes: tuple[int, ...]) -> dict[int, Journey]:
        node, taken = nodes[number], self._taken_but(number, nodes)
        length_mm = self.movers[number].length_mm
        key = (number if node < 0 else -1, node, taken, length_mm)
        found = self.reached.get(key)
        if found is None:
            found = {}
            for start in (node,) if node >= 0 else self.movers[number].nodes:
                for end, journey in self.finder.reach(start, taken, length_mm).items():
                    if end not in found or journey.cost < found[end].cost:
                        found[end] = journey
            self.reached[key] = found
        return found

    def _cleared(
        self, state: _State, came: dict[_State, tuple[_State, Shift]], last: Shift
    ) -> Cleared:
        shifts = [last]
        while state in came:
            state, shift = came[state]
            shifts.append(shift)
        shifts.reverse()
        return Cleared(tuple(shifts), tuple(train.train for train in self.movers[1:]))


def _sum(one: _Rank, other: _Rank) -> _Rank:
    return (one[0] + other[0], one[1] + other[1], one[2] + other[2], one[3] + other[3])
