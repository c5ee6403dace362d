"""The lane of each piece, counted from the top: its height on the drawing.

The search minimises a weighted sum: bends at points (more for the normal leg), bends at crossings,
the height of the drawing, and the distance between the two sides of a cut. Two conditions are
strict: the order from top to bottom stays, with at least one lane between pieces; and each leg of
points leaves to its own hand.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from trappoint.drawing.hints import Hint
from trappoint.drawing.memory import keep_order
from trappoint.drawing.placement_problem import PlacementProblem, solve

if TYPE_CHECKING:
    from trappoint.drawing.graph import Graph, Node
    from trappoint.drawing.vertical_order import DrawingOrder
    from trappoint.model.layout import Layout

NORMAL, REVERSE, ACROSS, CUT, ROAD, HEIGHT = 3.0, 2.0, 1.5, 0.4, 0.3, 0.35
"""Prices for each lane of height: of a bend at a normal leg, at another leg, at a crossing; between
the sides of a cut; at a turntable; of the whole drawing."""

HINT = 50.0
"""The price for each lane between a track and its hint: higher than that of bends."""

KEEP = 2.0
"""The price for each lane between a track and the level that it had before."""

NARROW = 0.25
"""The least distance of a slanting piece from its neighbours, in lanes."""


class Lanes:
    """The lanes of all pieces and nodes."""

    def __init__(self, graph: Graph, slanting: list[bool]) -> None:
        self.graph = graph
        self.slanting = slanting
        self.of_piece = [0.0] * len(graph.pieces)
        self.of_node = [0.0] * len(graph.nodes)

    def extent(self, node: int) -> tuple[float, float]:
        """Return the highest and the lowest lane that a node and its slants reach."""
        own = self.graph.nodes[node]
        ends = [self.of_node[node]]
        for piece in (*own.ins, *own.outs):
            if not self.slanting[piece]:
                ends.append(self.of_piece[piece])
        return min(ends), max(ends)


def find_slanting(graph: Graph, layout: Layout) -> list[bool]:
    """Return for each piece whether it may be drawn as one slant, as in a crossover."""
    busy = {track for platform in layout.platforms.values() for track in platform.tracks}
    busy |= {head.track for signal in layout.signals.values() for head in signal.heads}
    busy |= {t.id for t in layout.tracks.values() if t.stand or t.lane is not None}

    def is_leg(node: Node, leg: str) -> bool:
        return node.kind == "crossings" or (node.kind == "points" and leg != "toe")

    return [
        piece.track not in busy
        and is_leg(graph.nodes[piece.left], piece.left_leg)
        and is_leg(graph.nodes[piece.right], piece.right_leg)
        for piece in graph.pieces
    ]


def find_lanes(
    graph: Graph,
    layout: Layout,
    order: DrawingOrder,
    slanting: list[bool],
    hints: dict[int, Hint],
    before: dict[int, float],
) -> Lanes:
    """Find the lanes of all pieces. ``before`` holds the lanes that pieces had."""
    problem = PlacementProblem()
    numbers = _numbers(graph, problem, slanting)
    bottom = -1
    for part in order.parts:
        ends = [problem.number(), problem.number()]
        if bottom >= 0:
            problem.at_least(bottom, ends[0], 1)
        bottom = ends[1]
        for state in part.states:
            _keep_apart(problem, [numbers[p] for p in state], [slanting[p] for p in state], ends)
        problem.price(HEIGHT, *ends)
    for node in graph.nodes:
        _price(problem, graph, layout, node, numbers)
    _price_cuts(problem, graph, numbers)
    _price_hints(problem, hints, numbers)
    level = {p: number for p, number in enumerate(numbers) if not slanting[p]}
    keep_order(problem, before, level, KEEP, whole=True)
    values = solve(problem)
    lanes = Lanes(graph, slanting)
    lanes.of_piece = [values[number] for number in numbers]
    for node in graph.nodes:
        if node.kind not in ("crossings", "bridge"):
            lanes.of_node[node.index] = _lane_of(node, lanes)
    for node in graph.nodes:
        if node.kind in ("crossings", "bridge"):
            lanes.of_node[node.index] = _middle(node, lanes)
    return lanes


def _numbers(graph: Graph, problem: PlacementProblem, slanting: list[bool]) -> list[int]:
    """Give each piece its unknown lane; pieces that meet at a joint share one."""
    shares = list(range(len(graph.pieces)))

    def root(piece: int) -> int:
        while shares[piece] != piece:
            piece = shares[piece]
        return piece

    for node in graph.nodes:
        if node.kind == "joint" and len(node.ins) == len(node.outs) == 1:
            shares[root(node.outs[0])] = root(node.ins[0])
    found: dict[int, int] = {}
    for piece in range(len(graph.pieces)):
        if root(piece) not in found:
            found[root(piece)] = problem.number(whole=not slanting[piece])
    return [found[root(piece)] for piece in range(len(graph.pieces))]


def _keep_apart(
    problem: PlacementProblem, numbers: list[int], slanting: list[bool], ends: list[int]
) -> None:
    if not numbers:
        return
    problem.at_least(ends[0], numbers[0], 0)
    problem.at_least(numbers[-1], ends[1], 0)
    columns = list(zip(numbers, slanting, strict=True))
    for (upper, one), (lower, other) in pairwise(columns):
        problem.at_least(upper, lower, NARROW if one or other else 1)
    for upper, lower in pairwise([number for number, slant in columns if not slant]):
        problem.at_least(upper, lower, 1)


def _price(
    problem: PlacementProblem, graph: Graph, layout: Layout, node: Node, numbers: list[int]
) -> None:
    if node.kind == "points":
        toe_left = any(graph.pieces[p].right_leg == "toe" for p in node.ins)
        toes, legs = (node.ins, node.outs) if toe_left else (node.outs, node.ins)
        if not toes:
            return
        toe, normal = numbers[toes[0]], layout.points[node.id].normal
        for piece in legs:
            leg = graph.pieces[piece].left_leg if toe_left else graph.pieces[piece].right_leg
            problem.price(NORMAL if leg == normal else REVERSE, toe, numbers[piece])
            if leg == "middle":  # else two legs would overlap
                problem.at_least(toe, numbers[piece], 0)
                problem.at_least(numbers[piece], toe, 0)
        problem.at_least(numbers[legs[0]], toe, 0) if legs else None
        problem.at_least(toe, numbers[legs[-1]], 0) if legs else None
    elif node.kind in ("crossings", "bridge") and len(node.ins) == len(node.outs) == 2:
        problem.at_least(numbers[node.ins[0]], numbers[node.outs[1]], 0)
        problem.at_least(numbers[node.outs[0]], numbers[node.ins[1]], 0)
        problem.price(ACROSS, numbers[node.ins[0]], numbers[node.outs[1]])
        problem.price(ACROSS, numbers[node.ins[1]], numbers[node.outs[0]])
    elif node.kind == "turntables":
        own = [numbers[p] for p in (*node.ins, *node.outs)]
        for one, other in pairwise(own):
            problem.price(ROAD, one, other)


def _price_cuts(problem: PlacementProblem, graph: Graph, numbers: list[int]) -> None:
    cuts: dict[str, list[int]] = {}
    for node in graph.nodes:
        if node.kind == "cut":
            cuts.setdefault(node.id, []).append(numbers[(node.ins or node.outs)[0]])
    for sides in cuts.values():
        if len(sides) == 2:
            problem.price(CUT, *sides)


def _price_hints(problem: PlacementProblem, hints: dict[int, Hint], numbers: list[int]) -> None:
    """Add a price for each lane between a track and its hint."""
    levels: dict[Hint, int] = {}
    for hint in sorted(set(hints.values())):
        level = levels[hint] = problem.number(whole=True)
        first = levels.setdefault(Hint(hint.board, 0), level)
        problem.at_least(first, level, hint.number)
        problem.at_least(level, first, -hint.number)
    for piece, hint in hints.items():
        problem.price(HINT, levels[hint], numbers[piece])


def _lane_of(node: Node, lanes: Lanes) -> float:
    pieces = lanes.graph.pieces
    if node.kind == "points":
        for piece in node.ins:
            if pieces[piece].right_leg == "toe":
                return lanes.of_piece[piece]
        for piece in node.outs:
            if pieces[piece].left_leg == "toe":
                return lanes.of_piece[piece]
    own = [lanes.of_piece[p] for p in (*node.ins, *node.outs)]
    return (min(own) + max(own)) / 2 if own else 0.0


def _middle(node: Node, lanes: Lanes) -> float:
    """Return the lane in which two roads cross: on a straight one, or half way."""
    pieces = lanes.graph.pieces

    def reach(piece: int, *, to_left: bool) -> float:
        far = pieces[piece].left if to_left else pieces[piece].right
        if lanes.slanting[piece] and lanes.graph.nodes[far].kind == "points":
            return lanes.of_node[far]
        return lanes.of_piece[piece]

    if len(node.ins) != 2 or len(node.outs) != 2:
        return _lane_of(node, lanes)
    roads = [
        (reach(node.ins[number], to_left=True), reach(node.outs[1 - number], to_left=False))
        for number in (0, 1)
    ]
    for one, other in roads:
        if one == other:
            return one
    upper = max(roads[0][0], roads[1][1])
    lower = min(roads[1][0], roads[0][1])
    middle = sum(one + other for one, other in roads) / 4
    if lower - upper < 1:
        return (upper + lower) / 2
    return min(max(middle, upper + 0.5), lower - 0.5)
