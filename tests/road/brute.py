"""Shortest roads and least rearrangements by trying everything, step by step."""

from __future__ import annotations

from heapq import heappop, heappush
from itertools import combinations, count
from typing import Any, NamedTuple

from oracle.ground import Ground
from oracle.two_trains import Train, acts, start_of
from slips.meaning import Meaning, along

Cost = tuple[int, int, int]
"""Stops to set off anew, places run over, times that leave is given."""


class Best(NamedTuple):
    """The least rearrangement: how many other trains move, then moves, stops, places, leaves."""

    trains: int
    rank: tuple[int, int, int, int]


def given_leave(plan: Any) -> set[tuple[Any, ...]]:
    """The routes, by signal and spots, for which arms give leave all the way."""
    meaning = Meaning(plan)
    spoken = [
        road
        for arm in meaning.arms
        if arm.kind != "calling-on"
        for road in meaning.speaks[arm.id] or ()
    ]
    found = set()
    for road in spoken:
        past = [
            [each for each in spoken if along(road, each) and each.head == head]
            for head in road.past
        ]
        # Where a road comes over a place twice, the shunt signals on it may exclude each other.
        apart = any(
            meaning.conflict(one[0], other[0]) for one, other in combinations(filter(None, past), 2)
        )
        if all(past) and not apart:
            found.add((road.head[0], road.spots))
    return found


class Walker:
    """Walks single trains over a plan, every step by itself."""

    def __init__(self, plan: Any) -> None:
        self.ground = Ground(plan)
        self.leave = given_leave(plan)

    def walk(self, start: Train, taken: set[str]) -> dict[Train, Cost]:
        """The least cost of every state that the train can come to while all others stand.

        A train with its promise given back stands without one: its state is that of a start.
        """
        best: dict[Train, Cost] = {}
        tie = count()
        queue: list[tuple[Cost, int, Train]] = [((0, 0, 0), next(tie), start)]
        while queue:
            cost, _, train = heappop(queue)
            if train in best:
                continue
            best[train] = cost
            if train.place in self.ground.stands and train != start_of(train.place):
                heappush(queue, (cost, next(tie), start_of(train.place)))
            for act in acts(self.ground, train):
                stops, places, leaves = cost
                if act.step["do"] == "set-off":
                    if train != start_of(train.place):
                        continue
                    stops += train is not start and train != start
                elif act.step["do"] == "take":
                    route = (act.step["signal"], act.after.ahead)
                    if route not in self.leave or act.needs & taken:
                        continue
                    leaves += 1
                else:
                    if act.after.place in taken:
                        continue
                    places += 1
                heappush(queue, ((stops, places, leaves), next(tie), act.after))
        return best

    def rests(self, train: Train) -> bool:
        """Whether the train may be left so: standing, or held with nothing promised."""
        if train == start_of(train.place):
            return train.place in self.ground.stands
        if train.place in self.ground.stands or train.ahead:
            return False
        return any(way.head is not None for way in self.ground.ways_out[train.spot])


def shortest(walker: Walker, start: str, goal: str, taken: set[str]) -> Cost | None:
    """The least cost of a road, None where there is none."""
    return walker.walk(start_of(start), taken).get(start_of(goal))


def least(walker: Walker, main: str, goal: str, others: tuple[str, ...]) -> Best | None:
    """The least rearrangement after which the main train is at its goal, by trying everything."""
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
