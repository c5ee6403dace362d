"""The shortest roads and the fewest moves to clear a road, by trying everything."""

from __future__ import annotations

from collections.abc import Set
from functools import cache
from heapq import heappop, heappush
from itertools import combinations, count
from typing import Any, NamedTuple

from dimensions.back import Back
from oracle.game import Train, acts, start_of
from oracle.ground import Spot
from road.railway import by_hand_signal
from slips.meaning import Meaning

Cost = tuple[int, int, int]
"""The stops to set off again, the places run over, and the times that a signal gives leave."""


class Best(NamedTuple):
    """The best way to clear a road: other trains, then moves, stops, places and leaves."""

    trains: int
    rank: tuple[int, int, int, int]


def given_leave(meaning: Meaning) -> set[int]:
    """Return the numbers of the routes for which arms give leave all the way."""
    spoken = [
        road
        for arm in meaning.arms
        if arm.kind != "calling-on"
        for road in meaning.speaks[arm.id] or ()
    ]
    found = set()
    for road in spoken:
        past = [
            [each for each in spoken if meaning.passes_along(road, each) and each.head == head]
            for head in road.past
        ]
        # If a road comes over a place twice, the shunt signals on it may exclude each other.
        apart = any(
            meaning.conflict(one[0], other[0]) for one, other in combinations(filter(None, past), 2)
        )
        if all(past) and not apart:
            found.add(road.number)
    return found


class Walker:
    """Single trains that walk over a plan, step by step.

    With ``lengths``, on a plan that gives all lengths, a train comes to rest only if it leaves
    everything behind it clear.
    """

    def __init__(self, plan: Any, *, lengths: bool = False) -> None:
        self.ground = by_hand_signal(Meaning(plan))
        self.leave = given_leave(self.ground)
        self.acts = cache(lambda train: list(acts(self.ground, train)))
        self.walked = cache(self.walk)
        self.back = Back(plan) if lengths else None

    def fits(self, spot: Spot, length: int | None) -> bool:
        """Return whether a train may come to rest at a spot."""
        if self.back is None or length is None or spot[0] not in self.ground.sections:
            return True
        return self.back.clear(self.back.front(*spot), length)

    def walk(self, start: Train, taken: Set[str], length: int | None = None) -> dict[Train, Cost]:
        """Return the least cost of every state that the train can reach while all others stand.

        A train that gives back its promise is in the state of a start.
        """
        best: dict[Train, Cost] = {}
        tie = count()
        queue: list[tuple[Cost, int, Train]] = [((0, 0, 0), next(tie), start)]
        while queue:
            cost, _, train = heappop(queue)
            if train in best:
                continue
            best[train] = cost
            stands = train.place in self.ground.stands and train != start_of(train.place)
            if stands and self.fits(train.spot, length):
                heappush(queue, (cost, next(tie), start_of(train.place)))
            for act in self.acts(train):
                stops, places, leaves = cost
                if act.step["do"] == "set-off":
                    if train != start_of(train.place):
                        continue
                    stops += train is not start and train != start
                elif act.step["do"] == "take":
                    if act.after.route not in self.leave or act.needs & taken:
                        continue
                    leaves += 1
                else:
                    if act.after.place in taken or not self._may_be_held(act.after, length):
                        continue
                    places += 1
                heappush(queue, ((stops, places, leaves), next(tie), act.after))
        return best

    def _may_be_held(self, train: Train, length: int | None) -> bool:
        """Return whether a train fits, if a head holds it at the end of its route."""
        held = train.place != "" and not train.ahead and self.ground.facing(train.spot) is not None
        return not held or self.fits(train.spot, length)

    def rests(self, train: Train) -> bool:
        """Return whether the train may stay: in a stand, or held with nothing promised."""
        if train == start_of(train.place):
            return train.place in self.ground.stands
        if train.place in self.ground.stands or train.place == "" or train.ahead:
            return False
        return self.ground.facing(train.spot) is not None


def shortest(
    walker: Walker, start: str, goal: str, taken: set[str], length: int | None = None
) -> Cost | None:
    """Return the least cost of a road; None if there is none for a train of this length."""
    return walker.walked(start_of(start), frozenset(taken), length).get(start_of(goal))


def least(walker: Walker, main: str, goal: str, others: tuple[str, ...]) -> Best | None:
    """Return the best way to bring the main train to its goal; None if there is none."""
    begin = (tuple(start_of(place) for place in (main, *others)), frozenset[int]())
    tie = count()
    best: dict[Any, tuple[int, int, int, int]] = {}
    queue: list[Any] = [((0, 0, 0, 0), next(tie), begin)]
    found: Best | None = None
    while queue:
        rank, _, state = heappop(queue)
        if state in best:
            continue
        best[state] = rank
        trains, moved = state
        if trains[0] == start_of(goal):
            here = Best(len(moved), rank)
            found = here if found is None or here < found else found
            continue
        for number, train in enumerate(trains):
            taken = {each.place for other, each in enumerate(trains) if other != number}
            for after, cost in walker.walk(train, taken).items():
                if after != train and walker.rests(after):
                    now = (*trains[:number], after, *trains[number + 1 :])
                    more = moved | {number} if number else moved
                    total = (rank[0] + 1, *(a + b for a, b in zip(rank[1:], cost, strict=True)))
                    heappush(queue, (total, next(tie), (now, more)))
    return found
