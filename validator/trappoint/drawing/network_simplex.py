"""The network simplex method, for the best circulation in a network.

Each arc earns its gain for each unit of flow, up to its capacity. The circulation with the greatest
gain has potentials that prove it: an arc that is not full has a rise of at least its gain, an arc
with flow a rise of its gain at most. So potentials are the numbers of a placement problem, and arcs
are its least distances (no capacity) and its prices (the capacity is the weight).

The tree begins with arcs to an extra root; no flow can leave the root, so that they stay empty. Of
arcs that could leave, the last one on the cycle from its top does: then the method ends (W. H.
Cunningham, "A network simplex method", Mathematical Programming 11, 1976). All numbers are whole.
"""

from __future__ import annotations

from heapq import heapify, heappop, heappush
from math import isqrt
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

ENDLESS = 1 << 62
"""The capacity of an arc without one."""


class Arc(NamedTuple):
    """An arc of the network."""

    tail: int
    head: int
    gain: int
    room: int = ENDLESS
    """Its capacity."""


class NetworkSimplex:
    """A circulation in a network, and the potentials of its nodes."""

    def __init__(self, start: list[int]) -> None:
        """Begin without flow; ``start`` holds the potential of each node."""
        self.potential = [*start, 0]
        root = len(start)
        self.tails = list(range(root))
        self.heads = [root] * root
        self.gains = [-each for each in start]
        self.room = [ENDLESS] * root
        self.flow = [0] * root
        # The arc that joins each node to its parent.
        self.arc = [*range(root), -1]
        self.parent = [root] * root + [-1]
        self.depth = [1] * root + [0]
        self.children: list[list[int]] = [[] for _ in range(root)] + [list(range(root))]

    def add(self, arcs: Iterable[Arc]) -> None:
        """Add arcs without flow."""
        for tail, head, gain, room in arcs:
            self.tails.append(tail)
            self.heads.append(head)
            self.gains.append(gain)
            self.room.append(room)
            self.flow.append(0)

    def regain(self, arcs: list[Arc]) -> bool:
        """Take new gains of the same arcs, and keep the flow. Return False if others differ."""
        root = len(self.parent) - 1
        known = zip(self.tails[root:], self.heads[root:], self.room[root:], strict=True)
        if [(tail, head, room) for tail, head, _, room in arcs] != list(known):
            return False
        self.gains[root:] = [arc.gain for arc in arcs]
        stack = list(self.children[root])
        while stack:
            node = stack.pop()
            self._set_potential(node)
            stack += self.children[node]
        return True

    def least(self) -> list[int]:
        """Return the least potentials from 0 upwards that prove the best circulation."""
        root, potential = len(self.parent) - 1, self.potential
        # No residual arc rises, seen from the potentials that are known.
        onward: list[list[tuple[int, int]]] = [[] for _ in range(root)]
        for at in range(root, len(self.tails)):
            tail, head, flow = self.tails[at], self.heads[at], self.flow[at]
            fall = potential[head] - potential[tail] - self.gains[at]
            if flow < self.room[at]:
                onward[tail].append((head, fall))
            if flow:
                onward[head].append((tail, -fall))
        more = [-each for each in potential[:root]]
        heap = [(-each, node) for node, each in enumerate(more)]
        heapify(heap)
        while heap:
            down, node = heappop(heap)
            if -down < more[node]:
                continue
            for head, fall in onward[node]:
                if -down - fall > more[head]:
                    more[head] = -down - fall
                    heappush(heap, (down + fall, head))
        return [own + each for own, each in zip(potential[:root], more, strict=True)]

    def run(self) -> bool:
        """Find the best circulation. Return False if its gain has no limit."""
        potential, tails, heads = self.potential, self.tails, self.heads
        gains, room, flow = self.gains, self.room, self.flow
        first, count = len(self.parent) - 1, len(tails)
        block = max(16, isqrt(count - first))
        at, idle = first, 0
        while idle < count - first:
            entering, most = -1, 0
            for _ in range(block):
                if at >= count:
                    at = first
                if idle >= count - first:
                    break
                idle += 1
                over = gains[at] + potential[tails[at]] - potential[heads[at]]
                if over > most:
                    if flow[at] < room[at]:
                        entering, most = at, over
                elif -over > most and flow[at]:
                    entering, most = at, -over
                at += 1
            if entering >= 0:
                idle = 0
                if not self._enter(entering):
                    return False
        return True

    def _enter(self, entering: int) -> bool:
        """Send flow round the cycle of an arc, and change the tree. Return False for endless flow.

        The flow comes down the tree to ``start``, goes through the arc and up from ``stop``.
        """
        tails, flow, room = self.tails, self.flow, self.room
        arc, parent, depth = self.arc, self.parent, self.depth
        start, stop = tails[entering], self.heads[entering]
        if flow[entering]:
            start, stop = stop, start
        least_up = least_down = ENDLESS
        leave_up = leave_down = -1
        one, other = start, stop
        while one != other:
            if depth[one] >= depth[other]:
                link = arc[one]
                free = flow[link] if tails[link] == one else room[link] - flow[link]
                if free < least_down:
                    least_down, leave_down = free, one
                one = parent[one]
            else:
                link = arc[other]
                free = room[link] - flow[link] if tails[link] == other else flow[link]
                if free <= least_up:
                    least_up, leave_up = free, other
                other = parent[other]
        sent = min(room[entering], least_down, least_up)
        if sent >= ENDLESS // 2:
            return False
        if sent:
            flow[entering] += -sent if flow[entering] else sent
            self._send(-sent, start, one)
            self._send(sent, stop, one)
        if least_up == sent:
            self._hang(leave_up, stop, start, entering)
        elif room[entering] != sent:
            self._hang(leave_down, start, stop, entering)
        return True

    def _send(self, amount: int, node: int, top: int) -> None:
        """Send flow from a node up to another one."""
        while node != top:
            link = self.arc[node]
            self.flow[link] += amount if self.tails[link] == node else -amount
            node = self.parent[node]

    def _hang(self, cut: int, node: int, below: int, by: int) -> None:
        """Take the branch at ``cut`` off, and hang it below another node by its own ``node``."""
        arc, parent, children = self.arc, self.parent, self.children
        branch = node
        above, link = below, by
        while True:
            old, old_link = parent[node], arc[node]
            children[old].remove(node)
            parent[node], arc[node] = above, link
            children[above].append(node)
            if node == cut:
                break
            above, link, node = node, old_link, old
        # Within the branch, potentials keep their distances.
        depth, potential = self.depth, self.potential
        before = potential[branch]
        self._set_potential(branch)
        rise = potential[branch] - before
        depth[branch] = depth[parent[branch]] + 1
        stack = list(children[branch])
        while stack:
            node = stack.pop()
            potential[node] += rise
            depth[node] = depth[parent[node]] + 1
            stack += children[node]

    def _set_potential(self, node: int) -> None:
        link = self.arc[node]
        above = self.potential[self.parent[node]]
        own = self.gains[link]
        self.potential[node] = above - own if self.tails[link] == node else above + own
