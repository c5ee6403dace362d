"""Steepest descent to the least price of a placement problem.

Each round moves one set of numbers together, up or down by one step, and takes the set that lowers
the price most. The price is L-natural-convex: if no set lowers the price by a step, no other
answer on the grid of that step is cheaper (K. Murota, Discrete Convex Analysis, 2003). The
best set is the source's side of a minimum cut in a small network. The maximum flow comes from the
algorithm of E. A. Dinitz ("Algorithm for solution of a problem of maximum flow in networks with
power estimation", Soviet Mathematics Doklady 11, 1970). Steps begin wide and become narrow.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.drawing.placement_problem import PlacementProblem

NEVER = 1e9
TINY = 1e-7


class FlowNetwork:
    """A flow network of pipes with capacities; its last two nodes are the source and the sink."""

    def __init__(self, count: int) -> None:
        self.source, self.sink = count, count + 1
        self.pipes: list[list[int]] = [[] for _ in range(count + 2)]
        self.ends: list[int] = []
        self.room: list[float] = []

    def pipe(self, start: int, stop: int, room: float) -> None:
        """Add a pipe with the capacity ``room``."""
        for a, b, free in ((start, stop, room), (stop, start, 0.0)):
            self.pipes[a].append(len(self.ends))
            self.ends.append(b)
            self.room.append(free)

    def fill(self) -> float:
        """Return the maximum flow from source to sink, and keep its residual capacities."""
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
        """Send flow along one shortest way; return its amount, 0 if no way is left."""
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
        """Return the nodes on the source's side of the minimum cut, after ``fill``."""
        level = self._levels()
        return [node for node in range(self.source) if level[node] >= 0]


def descend(
    problem: PlacementProblem, values: list[float], steps: tuple[float, ...]
) -> list[float]:
    """Return numbers that no step of these sizes, up or down, makes cheaper."""
    values = list(values)
    for size in steps:
        for step in (size, -size):
            while _improve(problem, values, step):
                pass
    return values


def _improve(problem: PlacementProblem, values: list[float], step: float) -> bool:
    """Move the best set of numbers by a step. Return False if no set lowers the price."""
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
