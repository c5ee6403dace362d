"""Coordinates of the drawing: heights of lanes, then places from left to right.

Each lane has a band above and below its rails, as high as its items; bands never overlap. From left
to right, things that share a lane keep the order of the sweep. The search minimises the length of
all pieces and the width of the drawing. Slants have the highest price, so that they keep their
angle.
"""

from __future__ import annotations

from math import ceil, sqrt
from typing import TYPE_CHECKING

from trappoint.drawing.along import BUFFER, FAR, SIDES, Along, End, Span
from trappoint.drawing.columns import Columns
from trappoint.drawing.contents import ID_SIZE
from trappoint.drawing.drawn_places import SLOPE, DrawnPlaces, Label
from trappoint.drawing.geometry import Box, box_meets_line
from trappoint.drawing.lane_heights import Needs, find_needs, heights_for
from trappoint.drawing.platforms import Platforms
from trappoint.drawing.text_width import shortened, width_with_marks

if TYPE_CHECKING:
    from trappoint.drawing.contents import Content, Marks, Side
    from trappoint.drawing.graph import DrawnPiece, Graph, Node
    from trappoint.drawing.hints import Hint
    from trappoint.drawing.lanes import Lanes
    from trappoint.drawing.vertical_order import DrawingOrder
    from trappoint.model.layout import Layout

AIR, MIN_BAND = 8.0, 9.0
"""The room between bands, and the least height of a band, in drawing units."""

ROUNDS = 8
"""The number of rounds that bring lanes closer together."""

OUTSIDE = ("edge", "cut", "open")
"""The kinds of node whose name is beyond the end of the line."""

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
        widest: float | None,
        before: dict[int, float],
    ) -> None:
        self.graph, self.layout, self.order = graph, layout, order
        self.lanes, self.contents, self.marks = lanes, contents, marks
        self.along = [Along(content) for content in contents]
        self.platforms = Platforms(graph, lanes, contents)
        self.columns = Columns(graph, order, lanes, orders, widest, before)
        self.labels = [self._label(node) for node in graph.nodes]
        self._set_heights(self._heights())

    def place_once(self) -> DrawnPlaces:
        """Return the coordinates of all nodes, pieces and items, with room for any in each lane.

        ``settle`` follows: it brings the lanes closer together.
        """
        radii = {
            node.index: self.radius(node.index)
            for node in self.graph.nodes
            if node.kind == "turntables"
        }
        x = self.columns.place(self)
        places = DrawnPlaces(
            x, self.node_y, self.rails, self.labels, radii, self.runs, self.contents
        )
        spans = [self._span(piece, places) for piece in self.graph.pieces]
        for along, span in zip(self.along, spans, strict=True):
            along.place(span)
            places.spans.append({side: span.on(side) for side in SIDES})
        self.platforms.place(places, self.along, spans)
        return places

    def settle(self, places: DrawnPlaces) -> DrawnPlaces:
        """Return the coordinates with the lanes as close together as their items allow."""
        widest = self.y
        needs: Needs = {}
        for _ in range(ROUNDS):
            find_needs(self.graph, self.lanes, places, needs)
            heights = heights_for(needs, len(self.y))
            if not needs or heights == self.y:
                break
            self._set_heights(heights)
            places = self.place_once()
        else:
            self._set_heights(widest)
            places = self.place_once()
        self.platforms.fill(places)
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
                above[low] = max(above[low], self.radius(node) + 3)
                below[high] = max(below[high], self.radius(node) + 3)
        heights = [above[0]]
        for lane in range(1, count):
            heights.append(heights[-1] + max(34.0, below[lane - 1] + above[lane] + AIR))
        return heights

    def _set_heights(self, heights: list[float]) -> None:
        self.y = heights
        self.node_y = [self._y(lane) for lane in self.lanes.of_node]
        self.rails = [self._y(lane) for lane in self.lanes.of_piece]
        self.ends: dict[tuple[int, int], End] = {}
        self.slants = {
            (piece.index, node): self._slant(piece.index, node)
            for piece in self.graph.pieces
            for node in (piece.left, piece.right)
        }
        self.runs = {key: self._run(*key) for key in self.slants}

    def _y(self, lane: float) -> float:
        low = min(int(lane), len(self.y) - 1)
        high = min(low + 1, len(self.y) - 1)
        return self.y[low] + (lane - low) * (self.y[high] - self.y[low])

    def radius(self, node: int) -> float:
        """Return the radius of a turntable."""
        text = self.graph.nodes[node].id + self.marks.get(
            ("turntables", self.graph.nodes[node].id), ""
        )
        return max(15.0, width_with_marks(text, ID_SIZE) / 2 + 5)

    # --- names of nodes

    def _label(self, node: Node) -> Label | None:
        if node.kind not in ("points", "crossings", "joint", "edge", "cut", "open"):
            return None
        boards = self.graph.boards(node)
        called = node.id if boards is None else f"{boards[0]} | {boards[1]}"
        text = shortened(called, 40) + self.marks.get((node.kind, node.id), "")
        width = width_with_marks(text, ID_SIZE)
        if node.kind in OUTSIDE:
            left = 15.0 if node.ins else -15.0 - width
            return Label(text, left, -7, width, 14)
        up, down = self._rises(node)
        if node.kind == "crossings":
            return self._crossing_label(node, text, width)
        top = 5.0 if up and not down else -18.0 if node.kind == "joint" else -16.0
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
            box = Box(left - 3, top - 1, left + width + 3, top + 13)
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

    def run(self, piece: int, node: int) -> float:
        """Return the distance from a node at which a piece reaches its lane."""
        return self.runs[piece, node]

    def _run(self, piece: int, node: int) -> float:
        own = self.graph.nodes[node]
        if own.kind != "turntables":
            return abs(self.slants[piece, node])
        # The roads of a turntable spread like a fan.
        fan = own.outs if self.graph.pieces[piece].left == node else own.ins
        return max([*(abs(self.slants[p, node]) for p in fan), self.radius(node)])

    def reach(self, piece: DrawnPiece, node: int, side: Side) -> float:
        """Return the distance from a node that must stay empty on one side of a piece."""
        own = self.slants[piece.index, node]
        away = self.run(piece.index, node) + (4.0 if own else 6.0)
        kind = self.graph.nodes[node].kind
        label = self.labels[node]
        to_right = piece.left == node
        if label is not None and (kind == "crossings" or (kind not in OUTSIDE and not own)):
            over = label.left + label.width if to_right else -label.left
            away = max(away, over + 5)
        height = self.contents[piece.index].height(side)
        for other in self.graph.nodes[node].outs if to_right else self.graph.nodes[node].ins:
            slant = self.slants[other, node]
            if other != piece.index and (slant < own) == (side == "above") and slant != own:
                away = max(away, min(abs(slant - own), height * SLOPE) + abs(own) + 8)
        return away

    def least(self, piece: DrawnPiece) -> float:
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
        length = self.layout.tracks[piece.track].length_mm or 0
        longer = LONGER * sqrt(length * abs(piece.stop - piece.start))
        reaches = self.run(piece.index, piece.left) + self.run(piece.index, piece.right)
        ends = self.end(piece, piece.left), self.end(piece, piece.right)
        return max(self.along[piece.index].least(*ends), 16 + longer + reaches)

    # --- along the pieces

    def end(self, piece: DrawnPiece, node: int) -> End:
        """Return the room to leave at one end of a piece."""
        own = self.ends.get((piece.index, node))
        if own is None:
            own = self.ends[piece.index, node] = self._end(piece, node)
        return own

    def _end(self, piece: DrawnPiece, node: int) -> End:
        above, below = (self.reach(piece, node, side) for side in SIDES)
        far = BUFFER if self.graph.nodes[node].kind == "buffer" else FAR
        level = self.run(piece.index, node) if self.slants[piece.index, node] else 0.0
        if self.graph.nodes[node].kind == "turntables":
            level = max(level, self.radius(node))
        return End(above, below, level, far)

    def _span(self, piece: DrawnPiece, places: DrawnPlaces) -> Span:
        left, right = self.end(piece, piece.left), self.end(piece, piece.right)
        return Span(places.x[piece.left], left, places.x[piece.right], right)
