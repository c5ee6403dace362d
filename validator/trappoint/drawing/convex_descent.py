"""The way to the least price: raise or lower the best set of numbers, over and over.

The price is convex in a strong sense (L-natural-convex: K. Murota, Discrete Convex Analysis, 2003,
from memory): where no set of numbers can be moved together by one step so that the price falls, no
other answer on the grid of such steps is cheaper. The best set is a least cut of a small network
(found by Dinitz's algorithm, from memory). Steps begin wide and become narrow.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.drawing.solving import PlacementProblem

NEVER = 1e9
TINY = 1e-7


class FlowNetwork:
    """A network of pipes; the last two nodes are source and sink."""

    def __init__(self, count: int) -> None:
        self.source, self.sink = count, count + 1
        self.pipes: list[list[int]] = [[] for _ in range(count + 2)]
        self.ends: list[int] = []
        self.room: list[float] = []

    def pipe(self, start: int, stop: int, room: float) -> None:
        """Lay a pipe with so much room."""
        for a, b, free in ((start, stop, room), (stop, start, 0.0)):
            self.pipes[a].append(len(self.ends))
            self.ends.append(b)
            self.room.append(free)

    def fill(self) -> float:
        """Send as much from source to sink as there is room for; return how much."""
        total = 0.0
        while True:
            level = self._levels()
            if level[self.sink] < 0:
                return total
            following = [0] * len(self.pipes)
            while (sent := self._send(level, following)) > TINY:
                total += sent

    def _levels(self) -> list[int]:
        level = [-1] * len(self.pipes)
        level[self.source] = 0
        queue = deque([self.source])
        while queue:
            node = queue.popleft()
            for pipe in self.pipes[node]:
                if self.room[pipe] > TINY and level[self.ends[pipe]] < 0:
                    level[self.ends[pipe]] = level[node] + 1
                    queue.append(self.ends[pipe])
        return level

    def _send(self, level: list[int], following: list[int]) -> float:
        """Send along one way that the levels allow."""
        way: list[int] = []
        node = self.source
        while node != self.sink:
            own = self.pipes[node]
            while following[node] < len(own):
                pipe = own[following[node]]
                if self.room[pipe] > TINY and level[self.ends[pipe]] == level[node] + 1:
                    way.append(pipe)
                    node = self.ends[pipe]
                    break
                following[node] += 1
            else:
                if not way:
                    return 0.0
                level[node] = -1
                node = self.ends[way.pop() ^ 1]
        sent = min(self.room[pipe] for pipe in way)
        for pipe in way:
            self.room[pipe] -= sent
            self.room[pipe ^ 1] += sent
        return sent

    def side(self) -> list[int]:
        """Return the nodes on the source's side of the least cut, after ``fill``."""
        level = self._levels()
        return [node for node in range(self.source) if level[node] >= 0]


def descend(
    problem: PlacementProblem, values: list[float], steps: tuple[float, ...]
) -> list[float]:
    """Return the numbers of the least price that steps of these sizes lead to."""
    values = list(values)
    for size in steps:
        for step in (size, -size):
            while _improve(problem, values, step):
                pass
    return values


def _improve(problem: PlacementProblem, values: list[float], step: float) -> bool:
    """Move the best set of numbers by a step. False if no set is worth moving."""
    alone = [0.0] * problem.count
    network = FlowNetwork(problem.count)
    for weight, one, other in problem.prices:
        apart = values[one] - values[other]
        first = weight * (abs(apart + step) - abs(apart))
        second = weight * (abs(apart - step) - abs(apart))
        alone[one] -= second
        alone[other] += second
        if first + second > TINY:
            network.pipe(one, other, first + second)
    for (lower, upper), gap in problem.apart.items():
        if values[upper] - values[lower] - gap < abs(step) - TINY:
            follower, leader = (upper, lower) if step > 0 else (lower, upper)
            network.pipe(leader, follower, NEVER)
    saved = 0.0
    for number, price in enumerate(alone):
        if price < -TINY:
            network.pipe(network.source, number, -price)
            saved -= price
        elif price > TINY:
            network.pipe(number, network.sink, price)
    if saved - network.fill() < 1e-5:
        return False
    for number in network.side():
        values[number] += step
    return True
