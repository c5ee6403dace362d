"""A sweep line that finds an order of pieces from top to bottom, with few crossings.

A vertical line moves over the graph from one side to the other. The sweep keeps the list of pieces
that the line meets, from top to bottom (``live``). At each step it does the first that applies:

1. Pass a node whose pieces are neighbours in the list, in the right order. This costs nothing.
2. Open a new way in that a waiting node needs, beside the piece that it will meet. This happens as
   late as possible, so that a yard inside a loop is drawn inside the loop.
3. Swap neighbouring pieces until a node can be passed. Each swap is one crossing.

The steps are a greedy heuristic. A random generator settles the choices that are open, so that many
sweeps with different seeds explore different orders (``vertical_order``).
"""

from __future__ import annotations

from heapq import heapify, heappop, heappush
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from random import Random

    from trappoint.drawing.graph import Graph
    from trappoint.drawing.memory import Bridge, Recalled


class Event(NamedTuple):
    """One step of a sweep: pass a node, or swap two pieces (``node`` is -1)."""

    node: int
    at: int
    """The index in the list at which pieces are taken out and put in."""
    out: tuple[int, ...]
    """The pieces that the step takes out of the list, from top to bottom."""
    into: tuple[int, ...]
    """The pieces that it puts in their place."""


class SweepWays(NamedTuple):
    """A graph in the direction of a sweep: from the left or from the right."""

    before: list[list[int]]
    """The pieces that the sweep meets before each node."""
    beyond: list[list[int]]
    ahead: list[int]
    """The node at which each piece ends."""
    behind: list[int]
    legs_before: list[str]
    """The leg of the node ahead at which each piece ends."""
    legs_beyond: list[str]


def ways_of(graph: Graph, *, from_right: bool) -> SweepWays:
    """Return a graph in the direction of a sweep."""
    ins, outs = [n.ins for n in graph.nodes], [n.outs for n in graph.nodes]
    left, right = [p.left for p in graph.pieces], [p.right for p in graph.pieces]
    at_left, at_right = [p.left_leg for p in graph.pieces], [p.right_leg for p in graph.pieces]
    if from_right:
        return SweepWays(outs, ins, left, right, at_left, at_right)
    return SweepWays(ins, outs, right, left, at_right, at_left)


class Sweep:
    """One sweep over one connected part; ``rng`` settles the open choices (None: the first)."""

    def __init__(self, graph: Graph, ways: SweepWays, part: list[int], rng: Random | None) -> None:
        self.graph = graph
        self.ways = ways
        self.part = part
        self.rng = rng
        self.patience = rng.choice((99, 99, 0, 1, 2)) if rng else 99
        self.live: list[int] = []
        self.done: set[int] = set()
        self.events: list[Event] = []
        self.crossings = 0
        self.lacking = {node: len(ways.before[node]) for node in part}
        """From each node to the number of pieces before it that are not live."""

    def run(self, most: int) -> bool:
        """Sweep. Return False if the sweep needs more than ``most`` crossings, and stop there."""
        while len(self.done) < len(self.part):
            self._step()
            if self.crossings > most:
                return False
        return True

    def _step(self) -> None:
        ready: list[tuple[int, int]] = []
        waiting: list[int] = []
        edges: list[int] = []
        ahead, lacking, nodes = self.ways.ahead, self.lacking, self.graph.nodes
        before = self.ways.before
        for node in dict.fromkeys([ahead[piece] for piece in self.live]):
            if lacking[node]:
                waiting.append(node)
            elif nodes[node].kind == "edge":
                edges.append(node)
            elif len(before[node]) > 1 and (cost := self._cost(node)):
                ready.append((cost, node))
            else:
                self._pass(node)
                return
        cheapest = min(ready, default=None)
        if waiting and (cheapest is None or cheapest[0] > self.patience):
            self._open_for(self._choose(waiting))
        elif edges:
            # Lines that leave the plan run to its border, so they end last.
            for node in edges:
                self._pass(node)
        elif cheapest is not None:
            self._bring_together(cheapest[1])
            self._pass(cheapest[1])
        else:
            roots = [n for n in self.part if n not in self.done and not self.ways.before[n]]
            self._open(self._choose(roots), len(self.live))

    def _choose(self, from_: list[int]) -> int:
        return self.rng.choice(from_) if self.rng else from_[0]

    def _coin(self) -> bool:
        return bool(self.rng and self.rng.random() < 0.5)

    # --- passing nodes

    def _cost(self, node: int) -> int:
        """Return the number of crossings that bring the pieces of a node together."""
        before = self.ways.before[node]
        if len(before) == 1:
            return 0
        places = [self.live.index(piece) for piece in before]
        if len(places) == 2:
            one, other = places
            return abs(other - one) - 1 + (one > other and self.graph.nodes[node].fixed)
        cost = 0
        if self.graph.nodes[node].fixed:
            cost += sum(a > b for i, a in enumerate(places) for b in places[i + 1 :])
        for between in range(min(places) + 1, max(places)):
            if between not in places:
                above = sum(place < between for place in places)
                cost += min(above, len(places) - above)
        return cost

    def _bring_together(self, node: int) -> None:
        before = self.ways.before[node]
        places = sorted(self.live.index(piece) for piece in before)
        up: list[int] = []
        down: list[int] = []
        for between in range(places[0] + 1, places[-1]):
            if between not in places:
                above = sum(place < between for place in places)
                (up if above <= len(places) - above else down).append(self.live[between])
        own = before if self.graph.nodes[node].fixed else [self.live[place] for place in places]
        wanted = [*up, *own, *down]
        rank = {piece: number for number, piece in enumerate(wanted)}
        first = places[0]
        for _ in wanted:
            for place in range(first, first + len(wanted) - 1):
                one, other = self.live[place], self.live[place + 1]
                if rank[one] > rank[other]:
                    self._swap(place)

    def _swap(self, place: int) -> None:
        one, other = self.live[place : place + 2]
        self.live[place : place + 2] = [other, one]
        self.events.append(Event(-1, place, (one, other), (other, one)))
        self.crossings += 1

    def _pass(self, node: int) -> None:
        # The pieces are neighbours.
        before, live = self.ways.before[node], self.live
        first = min([live.index(piece) for piece in before])
        came = tuple(live[first : first + len(before)])
        self._put(node, first, came, self._beyond(node, came))

    def _open(self, node: int, at: int) -> None:
        self._put(node, at, (), self._beyond(node, ()))

    def _put(self, node: int, at: int, came: tuple[int, ...], go: tuple[int, ...]) -> None:
        self.live[at : at + len(came)] = go
        for piece in go:
            self.lacking[self.ways.ahead[piece]] -= 1
        self.events.append(Event(node, at, came, go))
        self.done.add(node)

    def _beyond(self, node: int, came: tuple[int, ...]) -> tuple[int, ...]:
        """Return the pieces beyond a node from top to bottom."""
        beyond = self.ways.beyond[node]
        if self.graph.nodes[node].kind == "crossings":
            # The upper road before the crossing is the lower road beyond it.
            roads = [self.ways.legs_before[piece][:1] for piece in came]
            rank = {road: -number for number, road in enumerate(roads)}
            return tuple(sorted(beyond, key=lambda p: rank.get(self.ways.legs_beyond[p][:1], 0)))
        if not self.graph.nodes[node].fixed and self._coin():
            return tuple(reversed(beyond))
        return tuple(beyond)

    # --- opening ways in

    def _open_for(self, node: int) -> None:
        """Open a way in that a node still needs, beside its pieces that are live."""
        anchor, needed, current = -1, -1, node
        while True:
            before = self.ways.before[current]
            missing = [piece for piece in before if piece not in self.live]
            piece = self._choose(missing)
            if len(missing) < len(before):
                anchor, needed = current, piece
            current = self.ways.behind[piece]
            if not self.ways.before[current]:
                break
            if self._is_ready(current):
                # Its pieces are all live: cross them and pass it.
                self._bring_together(current)
                self._pass(current)
                return
        self._open(current, self._beside(anchor, needed))

    def _is_ready(self, node: int) -> bool:
        return not self.lacking[node]

    def _beside(self, node: int, needed: int) -> int:
        before = self.ways.before[node]
        number = before.index(needed)
        over = [p for p in before[:number] if p in self.live]
        under = [p for p in before[number + 1 :] if p in self.live]
        if not self.graph.nodes[node].fixed and self._coin():
            over, under = under[::-1], over[::-1]
        if over:
            return self.live.index(over[-1]) + 1
        return self.live.index(under[0])


class GuidedSweep(Sweep):
    """A sweep from the left over the order that is recalled; it does not look for a better one."""

    def __init__(self, graph: Graph, part: list[int], recalled: Recalled) -> None:
        super().__init__(graph, ways_of(graph, from_right=False), part, None)
        self.recalled = recalled
        self.lanes = list(recalled.lanes)
        self.parts = [piece.part for piece in graph.pieces]

    def follow(self) -> None:
        """Pass the nodes and bridges from left to right, each node after those before it."""
        places, bridges = self.recalled.places, self.recalled.memory.bridges
        waiting = {node: len(self.ways.before[node]) for node in self.part}
        heap = [(places[node], node) for node, count in waiting.items() if not count]
        heap += [(bridge.place, -number) for number, bridge in enumerate(bridges, 1)]
        heapify(heap)
        while heap:
            _, node = heappop(heap)
            if node < 0:
                self._cross(bridges[-node - 1])
                continue
            self._follow(node)
            for piece in self.ways.beyond[node]:
                ahead = self.ways.ahead[piece]
                waiting[ahead] -= 1
                if not waiting[ahead]:
                    heappush(heap, (places[ahead], ahead))

    def _cross(self, bridge: Bridge) -> None:
        """Swap the two tracks of a bridge if they are neighbours."""
        tracks = [self.graph.pieces[piece].track for piece in self.live]
        for place, pair in enumerate(pairwise(tracks)):
            if pair == (bridge.upper, bridge.lower):
                self._swap(place)
                return

    def _swap(self, place: int) -> None:
        pair = self.live[place : place + 2]
        lanes = [self.lanes[piece] for piece in reversed(pair)]
        for piece, lane in zip(pair, lanes, strict=True):
            self.parts[piece] += 1
            track = self.graph.pieces[piece].track
            self.lanes[piece] = self.recalled.lane_beyond(track, self.parts[piece], lane)
        super()._swap(place)

    def _follow(self, node: int) -> None:
        if self.ways.before[node]:
            if self._cost(node):
                self._bring_together(node)
            self._pass(node)
            return
        own = min((self.lanes[piece] for piece in self.ways.beyond[node]), default=0.0)
        # The place with the fewest pieces on the wrong side.
        wrong = sum(self.lanes[piece] < own for piece in self.live)
        found, least = 0, wrong
        for at, piece in enumerate(self.live, 1):
            wrong += -1 if self.lanes[piece] < own else 1
            if wrong < least:
                found, least = at, wrong
        self._open(node, found)

    def _beyond(self, node: int, came: tuple[int, ...]) -> tuple[int, ...]:
        go = super()._beyond(node, came)
        if self.graph.nodes[node].fixed or self.graph.nodes[node].kind == "crossings":
            return go
        return tuple(sorted(go, key=lambda piece: self.lanes[piece]))


def reversed_events(events: list[Event]) -> list[Event]:
    """Return the steps of a sweep from the right as those of one from the left."""
    return [Event(e.node, e.at, e.into, e.out) for e in reversed(events)]
