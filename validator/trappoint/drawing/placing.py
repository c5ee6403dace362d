"""Coordinates of the drawing: heights of lanes, then places from left to right.

Each lane has a band above and below its rails, as high as its items; bands never overlap. From left
to right, things that share a lane keep the order of the sweep. The search minimises the length of
all pieces and the width of the drawing. Slants have the highest price, so that they keep their
angle.
"""

from __future__ import annotations

from math import ceil, sqrt
from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.contents import GAP, ID_SIZE, Side
from trappoint.drawing.drawn_places import SLOPE, DrawnPlaces, Label
from trappoint.drawing.geometry import Box, box_meets_line
from trappoint.drawing.hints import ask_for_order
from trappoint.drawing.lane_heights import Needs, find_needs, heights_for
from trappoint.drawing.placement_problem import PlacementProblem, solve
from trappoint.drawing.text_width import shortened, width_of

if TYPE_CHECKING:
    from trappoint.drawing.contents import Content, Marks
    from trappoint.drawing.graph import DrawnPiece, Graph, Node
    from trappoint.drawing.hints import Hint
    from trappoint.drawing.lanes import Lanes
    from trappoint.drawing.vertical_order import DrawingOrder
    from trappoint.model.layout import Layout

SIDES: tuple[Side, Side] = ("above", "below")

AIR, MIN_BAND = 8.0, 9.0
"""The room between bands, and the least height of a band, in drawing units."""

ROUNDS = 8
"""The number of rounds that bring lanes closer together."""

OUTSIDE = ("edge", "cut", "open")
"""The kinds of node whose name is beyond the end of the line."""

SLANT, PLAIN, ENDING, TO_EDGE, AT_BORDER, WIDTH = 6.0, 1.0, 1.6, 0.2, 0.6, 0.2
"""Prices for each unit of length: of a slant, of other pieces, of pieces to a buffer or an edge, of
the room between an edge and the border; and of width."""

LONGER = 1.1
"""The extra width of a piece, for each unit of the square root of its length in millimetres."""


class Placer:
    """The placement of one drawing."""

    def __init__(
        self,
        graph: Graph,
        layout: Layout,
        order: DrawingOrder,
        lanes: Lanes,
        contents: list[Content],
        marks: Marks,
        orders: dict[int, Hint],
    ) -> None:
        self.graph, self.layout, self.order = graph, layout, order
        self.lanes, self.contents, self.marks = lanes, contents, marks
        self.orders = orders
        self.labels = [self._label(node) for node in graph.nodes]
        self._set_heights(self._heights())

    def place(self) -> DrawnPlaces:
        """Return the coordinates of all nodes, pieces and items."""
        radii = {
            node.index: self._radius(node.index)
            for node in self.graph.nodes
            if node.kind == "turntables"
        }
        widest = self.y
        needs: Needs = {}
        for _ in range(ROUNDS):
            places = self._places(radii)
            before = dict(needs)
            find_needs(self.graph, self.lanes, places, needs)
            if needs == before:
                return places
            self._set_heights(heights_for(needs, len(self.y)))
        self._set_heights(widest)
        return self._places(radii)

    def _places(self, radii: dict[int, float]) -> DrawnPlaces:
        columns = self._columns()
        runs = {
            (piece.index, node): self._run(piece.index, node)
            for piece in self.graph.pieces
            for node in (piece.left, piece.right)
        }
        places = DrawnPlaces(
            columns, self.node_y, self.rails, self.labels, radii, runs, self.contents
        )
        for piece in self.graph.pieces:
            places.spans.append(self._spread(piece, places))
        return places

    # --- heights

    def _heights(self) -> list[float]:
        """Return the height of each whole lane."""
        count = round(max([*self.lanes.of_piece, *self.lanes.of_node], default=0.0) + 0.49) + 1
        above, below = [MIN_BAND] * count, [MIN_BAND] * count
        for piece, content in enumerate(self.contents):
            lane = round(self.lanes.of_piece[piece])
            above[lane] = max(above[lane], content.height("above"))
            below[lane] = max(below[lane], content.height("below"))
        for node, label in enumerate(self.labels):
            low, high = int(self.lanes.of_node[node]), ceil(self.lanes.of_node[node])
            if label is not None:
                above[low] = max(above[low], -label.top + 2)
                below[high] = max(below[high], label.top + label.height + 2)
            if self.graph.nodes[node].kind == "turntables":
                above[low] = max(above[low], self._radius(node) + 3)
                below[high] = max(below[high], self._radius(node) + 3)
        heights = [above[0]]
        for lane in range(1, count):
            heights.append(heights[-1] + max(34.0, below[lane - 1] + above[lane] + AIR))
        return heights

    def _set_heights(self, heights: list[float]) -> None:
        self.y = heights
        self.node_y = [self._y(lane) for lane in self.lanes.of_node]
        self.rails = [self._y(lane) for lane in self.lanes.of_piece]

    def _y(self, lane: float) -> float:
        low = min(int(lane), len(self.y) - 1)
        high = min(low + 1, len(self.y) - 1)
        return self.y[low] + (lane - low) * (self.y[high] - self.y[low])

    def _radius(self, node: int) -> float:
        text = self.graph.nodes[node].id + self.marks.get(
            ("turntables", self.graph.nodes[node].id), ""
        )
        return max(15.0, width_of(text, ID_SIZE) / 2 + 5)

    # --- names of nodes

    def _label(self, node: Node) -> Label | None:
        if node.kind not in ("points", "crossings", "joint", "edge", "cut", "open"):
            return None
        boards = self.graph.boards(node)
        called = node.id if boards is None else f"{boards[0]} | {boards[1]}"
        text = shortened(called, 40) + self.marks.get((node.kind, node.id), "")
        width = width_of(text, ID_SIZE)
        if node.kind in OUTSIDE:
            left = 15.0 if node.ins else -15.0 - width
            return Label(text, left, -7, width, 14)
        up, down = self._rises(node)
        if node.kind == "crossings":
            return self._crossing_label(node, text, width)
        top = 5.0 if up and not down else -16.0
        left = -width / 2
        if up and down:
            left = 4.0 if len(node.ins) > len(node.outs) else -4.0 - width
        return Label(text, left, top, width, 12)

    def _crossing_label(self, node: Node, text: str, width: float) -> Label:
        """Return the label of a node, on a side without a road."""
        own = self.lanes.of_node[node.index]
        rays = []
        for pieces, way in ((node.ins, -1), (node.outs, 1)):
            for piece in pieces:
                far = self._far(piece, node.index)
                slope = 0.0 if far == own else (1 if far > own else -1) / SLOPE
                ray = [(0.0, 0.0), (way * 90.0, 90.0 * slope)]
                rays.append(ray[::way])
        spots = (
            (-width / 2, -17), (-6 - width, -17), (6, -17), (11, -6), (-11 - width, -6),
            (-6 - width, 5), (6, 5), (-width / 2, -30), (-width / 2, 18),
        )  # fmt: skip
        for left, top in spots:
            box = Box(left - 1, top, left + width + 1, top + 12)
            if not any(box_meets_line(box, ray) for ray in rays):
                return Label(text, left, top, width, 12)
        return Label(text, -width / 2, -30, width, 12)

    def _far(self, piece: int, node: int) -> float:
        """Return the lane that a piece reaches from a node."""
        if not self.lanes.slanting[piece]:
            return self.lanes.of_piece[piece]
        own = self.graph.pieces[piece]
        return self.lanes.of_node[own.right if own.left == node else own.left]

    def _rises(self, node: Node) -> tuple[bool, bool]:
        """Return whether any piece leaves a node upwards, and whether any does downwards."""
        own = self.lanes.of_node[node.index]
        far = [self._far(piece, node.index) for piece in (*node.ins, *node.outs)]
        return any(lane < own for lane in far), any(lane > own for lane in far)

    # --- from left to right

    def _slant(self, piece: int, node: int) -> float:
        """Return the width of a piece's slant at a node; negative if it rises."""
        if self.graph.nodes[node].kind == "bend":
            return 0.0
        rise = self.rails[piece] - self.node_y[node]
        if self.lanes.slanting[piece]:
            own = self.graph.pieces[piece]
            rise = self.node_y[own.right if own.left == node else own.left] - self.node_y[node]
        return rise * SLOPE

    def _run(self, piece: int, node: int) -> float:
        """Return the distance from a node at which a piece reaches its lane."""
        own = self.graph.nodes[node]
        if own.kind != "turntables":
            return abs(self._slant(piece, node))
        # The roads of a turntable spread like a fan.
        fan = own.outs if self.graph.pieces[piece].left == node else own.ins
        return max([*(abs(self._slant(p, node)) for p in fan), self._radius(node)])

    def reach(self, piece: DrawnPiece, node: int, side: Side) -> float:
        """Return the distance from a node that must stay empty on one side of a piece."""
        own = self._slant(piece.index, node)
        away = self._run(piece.index, node) + (4.0 if own else 6.0)
        kind = self.graph.nodes[node].kind
        label = self.labels[node]
        to_right = piece.left == node
        if label is not None and (kind == "crossings" or (kind not in OUTSIDE and not own)):
            over = label.left + label.width if to_right else -label.left
            away = max(away, over + 5)
        height = self.contents[piece.index].height(side)
        for other in self.graph.nodes[node].outs if to_right else self.graph.nodes[node].ins:
            slant = self._slant(other, node)
            if other != piece.index and (slant < own) == (side == "above") and slant != own:
                away = max(away, min(abs(slant - own), height * SLOPE) + abs(own) + 8)
        return away

    def _least(self, piece: DrawnPiece) -> float:
        """Return the least length of a piece."""
        if self.lanes.slanting[piece.index]:
            rise = abs(self.node_y[piece.right] - self.node_y[piece.left])
            kinds = {self.graph.nodes[piece.left].kind, self.graph.nodes[piece.right].kind}
            labels = 0.0
            for node in (piece.left, piece.right):
                label = self.labels[node]
                if label is not None:
                    labels += (
                        max(label.left + label.width, 0)
                        if node == piece.left
                        else max(-label.left, 0)
                    )
            return max(rise * SLOPE, labels + 8, 34.0 if kinds == {"crossings"} else 20.0)
        content = self.contents[piece.index]
        needed = [
            self.reach(piece, piece.left, side)
            + max(content.width(side), 14.0)
            + self.reach(piece, piece.right, side)
            for side in SIDES
        ]
        length = self.layout.tracks[piece.track].length_mm or 0
        longer = LONGER * sqrt(length * abs(piece.stop - piece.start))
        reaches = self._run(piece.index, piece.left) + self._run(piece.index, piece.right)
        return max(*needed, 16 + longer + reaches)

    def _columns(self) -> list[float]:
        problem = PlacementProblem()
        for _ in self.graph.nodes:
            problem.number()
        left, right = problem.number(), problem.number()
        problem.price(WIDTH, left, right)
        for node in self.graph.nodes:
            problem.at_least(left, node.index, 0)
            problem.at_least(node.index, right, 0)
            if node.kind == "edge":
                problem.price(AT_BORDER, *((node.index, right) if node.ins else (left, node.index)))
        for piece in self.graph.pieces:
            problem.at_least(piece.left, piece.right, self._least(piece))
            kinds = {self.graph.nodes[piece.left].kind, self.graph.nodes[piece.right].kind}
            weight = SLANT if self.lanes.slanting[piece.index] else PLAIN
            if "edge" in kinds:
                weight = TO_EDGE
            elif kinds & {"buffer", "cut", "bend", "open"}:
                weight = ENDING
            problem.price(weight, piece.left, piece.right)
        self._keep_order(problem)
        ask_for_order(problem, self.orders)
        return [round(x, 2) for x in solve(problem)[: len(self.graph.nodes)]]

    def _keep_order(self, problem: PlacementProblem) -> None:
        """Keep the order of things that share a lane."""
        when: dict[int, int] = {}
        for part in self.order.parts:
            for node in part.sequence:
                when[node] = len(when)
        things = [self._node_thing(node, when) for node in self.graph.nodes]
        things += [self._piece_thing(piece, when) for piece in self.graph.pieces]
        rows: list[list[_Thing]] = [[] for _ in self.y]
        for thing in things:
            # A slant that ends between two lanes takes both.
            for row in range(int(thing.top), ceil(thing.bottom) + 1):
                if row < len(rows):
                    rows[row].append(thing)
        for beside in rows:
            for one in beside:
                for other in beside:
                    if one.last <= other.first and one.ends.isdisjoint(other.ends):
                        problem.at_least(one.right, other.left, one.over + other.under + 8)

    def _node_thing(self, node: Node, when: dict[int, int]) -> _Thing:
        low, high = self.lanes.extent(node.index)
        label = self.labels[node.index]
        under = max([0.0, *(self._run(p, node.index) for p in node.ins if self._flat(p))])
        over = max([0.0, *(self._run(p, node.index) for p in node.outs if self._flat(p))])
        if label is not None:
            under, over = max(under, -label.left), max(over, label.left + label.width)
        if node.kind == "turntables":
            under = max(under, self._radius(node.index))
            over = max(over, self._radius(node.index))
        if node.kind in ("buffer", *OUTSIDE):
            under, over = max(under, 6.0), max(over, 6.0)
        now = when[node.index]
        # A node that ends pieces separates its neighbours.
        ends = frozenset([node.index])
        return _Thing(low, high, node.index, node.index, under, over, now, now, ends)

    def _flat(self, piece: int) -> bool:
        return not self.lanes.slanting[piece]

    def _piece_thing(self, piece: DrawnPiece, when: dict[int, int]) -> _Thing:
        if self.lanes.slanting[piece.index]:
            ends = sorted((self.lanes.of_node[piece.left], self.lanes.of_node[piece.right]))
        else:
            ends = [self.lanes.of_piece[piece.index]] * 2
        return _Thing(
            ends[0], ends[1], piece.left, piece.right, 0.0, 0.0,
            when[piece.left], when[piece.right], frozenset([piece.left, piece.right]),
        )  # fmt: skip

    # --- along the pieces

    def _spread(self, piece: DrawnPiece, places: DrawnPlaces) -> dict[Side, tuple[float, float]]:
        """Place the items of a piece; return the room on each side of it."""
        spans: dict[Side, tuple[float, float]] = {}
        for side in SIDES:
            left = places.x[piece.left] + self.reach(piece, piece.left, side)
            right = places.x[piece.right] - self.reach(piece, piece.right, side)
            spans[side] = left, right
            items = self.contents[piece.index].on(side)
            at = left
            for item in items:
                wish = (left + right - item.width) / 2
                if item.at is not None:
                    wish = left + item.at * (right - left - item.width)
                if item.kind == "platform":
                    item.width = item.least
                item.x = max(at, wish)
                at = item.x + item.width + GAP
            at = right
            for item in reversed(items):
                item.x = min(item.x, at - item.width)
                at = item.x - GAP
            self._stretch(piece, side, left, right)
        return spans

    def _stretch(self, piece: DrawnPiece, side: Side, left: float, right: float) -> None:
        """Widen platforms into the free room on their side."""
        items = self.contents[piece.index].on(side)
        for number, item in enumerate(items):
            if item.kind != "platform":
                continue
            before = items[number - 1].x + items[number - 1].width + GAP if number else left
            after = items[number + 1].x - GAP if number + 1 < len(items) else right
            item.x, item.width = before, max(item.least, after - before)


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
