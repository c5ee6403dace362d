"""Places from left to right: the x of each node.

Things that share a lane keep the order of the sweep. The search minimises the length of all pieces
and the width of each connected part. Slants have the highest price, so that they keep their angle.
"""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.hints import ask_for_order, leads
from trappoint.drawing.memory import keep_order
from trappoint.drawing.placement_problem import PlacementProblem, solve

if TYPE_CHECKING:
    from trappoint.drawing.graph import DrawnPiece, Graph, Node
    from trappoint.drawing.hints import Hint
    from trappoint.drawing.lanes import Lanes
    from trappoint.drawing.placing import Placer
    from trappoint.drawing.vertical_order import ConnectedPart, DrawingOrder

SLANT, PLAIN, ENDING, TO_EDGE, AT_BORDER, WIDTH = 6.0, 1.0, 1.6, 0.2, 0.6, 0.2
"""Prices for each unit of length: of a slant, of other pieces, of pieces to a buffer or an edge, of
the room between an edge and the border; and of width."""

KEEP = 0.3
"""The price for each unit between an element and the place in the order that it had before."""

END = 11.0
"""The least room beyond the last node of a row, in drawing units."""


class Columns:
    """The placement from left to right of one drawing."""

    def __init__(
        self,
        graph: Graph,
        order: DrawingOrder,
        lanes: Lanes,
        orders: dict[int, Hint],
        widest: float | None,
        before: dict[int, float],
    ) -> None:
        self.graph, self.lanes, self.orders = graph, lanes, orders
        self.widest = widest
        self.before = before
        self.when: dict[int, int] = {}
        for part in order.parts:
            for node in part.sequence:
                self.when[node] = len(self.when)
        self.parts = [_Members(graph, part) for part in order.parts]
        self.solved: dict[int, PlacementProblem] = {}

    def place(self, placer: Placer) -> list[float]:
        """Return the x of each node. A second answer is quicker than the first."""
        x = [0.0] * len(self.graph.nodes)
        for number, part in enumerate(self.parts):
            problem = self._problem(placer, part)
            answer = solve(problem, self.solved.get(number))
            self.solved[number] = problem
            for node, place in zip(part.nodes, answer, strict=False):
                x[node] = round(place, 2)
        return x

    def narrowest(self, placer: Placer) -> list[tuple[list[int], float]]:
        """Return the nodes of each connected part and its least width, with its letters."""
        return [
            (part.nodes, self._problem(placer, part).width() + sum(self._ends(placer, part)))
            for part in self.parts
        ]

    def _problem(self, placer: Placer, part: _Members) -> PlacementProblem:
        problem = PlacementProblem()
        number = {node: problem.number() for node in part.nodes}
        left, right = problem.number(), problem.number()
        problem.price(WIDTH, left, right)
        for node in part.nodes:
            own = self.graph.nodes[node]
            problem.at_least(left, number[node], 0)
            problem.at_least(number[node], right, 0)
            if own.kind == "edge":
                ends = (number[node], right) if own.ins else (left, number[node])
                problem.price(AT_BORDER, *ends)
        for index in part.pieces:
            piece = self.graph.pieces[index]
            ends = number[piece.left], number[piece.right]
            problem.at_least(*ends, placer.least(piece))
            problem.price(self._weight(piece), *ends)
        self._keep_order(placer, problem, part, number)
        self._ask_for_islands(placer, problem, number)
        ask_for_order(problem, {number[n]: h for n, h in self.orders.items() if n in number})
        stays = {node: own for node, own in number.items() if self._is_element(node)}
        keep_order(problem, self.before, stays, KEEP)
        if self.widest is not None:
            problem.at_most(left, right, self.widest - sum(self._ends(placer, part)))
        return problem

    def _is_element(self, node: int) -> bool:
        return self.graph.nodes[node].kind in ("points", "crossings", "turntables")

    def _ask_for_islands(
        self, placer: Placer, problem: PlacementProblem, number: dict[int, int]
    ) -> None:
        """Ask for room for one platform between two tracks, where the order leaves it."""
        onward: dict[int, list[int]] = {}
        for lower, upper in problem.apart:
            onward.setdefault(lower, []).append(upper)
        for pair in placer.platforms.neighbours():
            pieces = [self.graph.pieces[piece] for piece, _ in pair]
            if any(piece.left not in number for piece in pieces):
                continue
            lefts = [number[piece.left] for piece in pieces]
            rights = [number[piece.right] for piece in pieces]
            if any(leads(onward, right, left) for right in rights for left in lefts):
                continue
            platform = problem.number()
            for piece, (_, item) in zip(pieces, pair, strict=True):
                along = placer.along[piece.index]
                before = along.before(item, placer.end(piece, piece.left))
                after = along.after(item, placer.end(piece, piece.right))
                left, right = number[piece.left], number[piece.right]
                problem.at_least(left, platform, before)
                problem.at_least(platform, right, item.least + after)
                onward.setdefault(left, []).extend(rights)

    def _ends(self, placer: Placer, part: _Members) -> tuple[float, float]:
        """Return the room that names take beyond the first and the last node of a part."""
        labels = [label for node in part.nodes if (label := placer.labels[node]) is not None]
        radii = [placer.radius(n) for n in part.nodes if self.graph.nodes[n].kind == "turntables"]
        before = max([END, *radii, *(-label.left for label in labels)])
        return before, max([END, *radii, *(label.left + label.width for label in labels)])

    def _weight(self, piece: DrawnPiece) -> float:
        kinds = {self.graph.nodes[piece.left].kind, self.graph.nodes[piece.right].kind}
        if "edge" in kinds:
            return TO_EDGE
        if kinds & {"buffer", "cut", "bend", "open"}:
            return ENDING
        return SLANT if self.lanes.slanting[piece.index] else PLAIN

    def _keep_order(
        self, placer: Placer, problem: PlacementProblem, part: _Members, number: dict[int, int]
    ) -> None:
        """Keep the order of things that share a lane."""
        things = [self._node_thing(placer, self.graph.nodes[node]) for node in part.nodes]
        things += [self._piece_thing(self.graph.pieces[piece]) for piece in part.pieces]
        lanes: dict[int, list[_Thing]] = {}
        for thing in sorted(things, key=lambda thing: (thing.first, thing.last)):
            # A slant that ends between two lanes takes both.
            for lane in range(int(thing.top), ceil(thing.bottom) + 1):
                lanes.setdefault(lane, []).append(thing)
        for beside in lanes.values():
            for at, one in enumerate(beside):
                # A thing behind another one keeps its distance through that one.
                until = NEVER
                for other in beside[at + 1 :]:
                    if other.first > until:
                        break
                    if one.last <= other.first and one.ends.isdisjoint(other.ends):
                        gap = one.over + other.under + 8
                        problem.at_least(number[one.right], number[other.left], gap)
                        until = min(until, other.last)

    def _node_thing(self, placer: Placer, node: Node) -> _Thing:
        low, high = self.lanes.extent(node.index)
        label = placer.labels[node.index]
        under = max([0.0, *(placer.run(p, node.index) for p in node.ins if self._flat(p))])
        over = max([0.0, *(placer.run(p, node.index) for p in node.outs if self._flat(p))])
        if label is not None:
            under, over = max(under, -label.left), max(over, label.left + label.width)
        if node.kind == "turntables":
            under = max(under, placer.radius(node.index))
            over = max(over, placer.radius(node.index))
        if node.kind in ("buffer", "edge", "cut", "open"):
            under, over = max(under, 6.0), max(over, 6.0)
        now = self.when[node.index]
        # A node that ends pieces separates its neighbours.
        ends = frozenset([node.index])
        return _Thing(low, high, node.index, node.index, under, over, now, now, ends)

    def _flat(self, piece: int) -> bool:
        return not self.lanes.slanting[piece]

    def _piece_thing(self, piece: DrawnPiece) -> _Thing:
        if self.lanes.slanting[piece.index]:
            ends = sorted((self.lanes.of_node[piece.left], self.lanes.of_node[piece.right]))
        else:
            ends = [self.lanes.of_piece[piece.index]] * 2
        return _Thing(
            ends[0], ends[1], piece.left, piece.right, 0.0, 0.0,
            self.when[piece.left], self.when[piece.right], frozenset([piece.left, piece.right]),
        )  # fmt: skip


NEVER = 10**9


class _Members:
    """The nodes and the pieces of a connected part."""

    def __init__(self, graph: Graph, part: ConnectedPart) -> None:
        self.nodes = sorted(part.sequence)
        own = set(self.nodes)
        self.pieces = [piece.index for piece in graph.pieces if piece.left in own]


class _Thing(NamedTuple):
    """The lanes and the steps of the sweep that a node or piece takes."""

    top: float
    bottom: float
    left: int
    right: int
    under: float
    """The distance that it reaches to the left of its left node."""
    over: float
    first: int
    """The steps at which the sweep reaches it and leaves it."""
    last: int
    ends: frozenset[int]
