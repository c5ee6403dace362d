"""From a plan to all places and lines of its drawing; nothing is written yet."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from trappoint.drawing.contents import add_names, find_contents
from trappoint.drawing.geometry import Box, box_meets_line, crossed, lines_of
from trappoint.drawing.graph import build_graph
from trappoint.drawing.hints import find_hints, unfollowed
from trappoint.drawing.lanes import Lanes, find_lanes, find_slanting
from trappoint.drawing.long_plans import fold
from trappoint.drawing.oval_cuts import cut_ovals
from trappoint.drawing.placing import Placer
from trappoint.drawing.slant_names import name_slants
from trappoint.drawing.vertical_order import DrawingOrder, order_pieces

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.findings import Finding
    from trappoint.drawing.contents import Item, Marks
    from trappoint.drawing.drawn_places import DrawnPlaces, Label
    from trappoint.drawing.geometry import Point
    from trappoint.drawing.graph import DrawnPiece, Graph, Node
    from trappoint.drawing.hints import Hints
    from trappoint.drawing.slant_names import SlantName
    from trappoint.model.layout import Layout


@dataclass(slots=True)
class Sketch:
    """All places and lines of a drawing."""

    layout: Layout
    graph: Graph
    order: DrawingOrder
    lanes: Lanes
    places: DrawnPlaces
    lines: list[list[Point]]
    marks: Marks
    rows: list[tuple[list[int], list[int]]] = field(default_factory=list)
    """The pieces and the nodes of each row; empty for a drawing in one row."""
    shown: tuple[list[int], list[int]] | None = None
    """The pieces and nodes to write; None for all."""
    slant_names: dict[int, SlantName] = field(default_factory=dict)
    """From a piece to the name of its track, for tracks drawn as one slant."""
    unfollowed: list[Finding] = field(default_factory=list)
    """A finding for each hint that the drawing ignores."""

    def pieces(self) -> list[DrawnPiece]:
        """Return the pieces to write."""
        if self.shown is None:
            return self.graph.pieces
        return [self.graph.pieces[piece] for piece in self.shown[0]]

    def nodes(self) -> list[Node]:
        """Return the nodes to write."""
        if self.shown is None:
            return self.graph.nodes
        return [self.graph.nodes[node] for node in self.shown[1]]

    def sheets(self, highest: float) -> list[Sketch]:
        """Spread the rows over sheets of this height, at least one row to a sheet."""
        groups: list[tuple[list[int], list[int]]] = []
        top = 0.0
        for pieces, nodes in self.rows:
            boxes = self.reaches(pieces, nodes)
            bottom = max(box.bottom for box in boxes)
            if groups and bottom - top <= highest:
                groups[-1] = [*groups[-1][0], *pieces], [*groups[-1][1], *nodes]
            else:
                groups.append((pieces, nodes))
                top = min(box.top for box in boxes)
        return [replace(self, shown=group) for group in groups] or [self]

    @property
    def crossings(self) -> int:
        """The number of places at which the drawing crosses tracks that the plan does not."""
        return self.order.crossings

    def items(self) -> list[tuple[int, Item]]:
        """Return every item beside a piece, with the index of its piece."""
        return [
            (piece.index, item)
            for piece in self.pieces()
            for content in (self.places.contents[piece.index],)
            for item in (*content.above, *content.below)
        ]

    def boxes(self) -> list[Box]:
        """Return the room that every text, signal and platform takes."""
        boxes = [self.item_box(piece, item) for piece, item in self.items()]
        for node, label in enumerate(self.places.labels):
            if label is not None:
                boxes.append(self.label_box(node, label))
        return [*boxes, *(name.box for name in self.slant_names.values())]

    def reaches(self, pieces: Iterable[int], nodes: Iterable[int]) -> list[Box]:
        """Return the room that pieces and nodes take, with all that belongs to them."""
        found = []
        for piece in pieces:
            (left, start), *_, (right, stop) = self.lines[piece]
            heights = (start, stop, self.places.rails[piece])
            found.append(Box(left, min(heights) - 8, right, max(heights) + 8))
            content = self.places.contents[piece]
            found += [self.item_box(piece, i) for i in (*content.above, *content.below)]
            if piece in self.slant_names:
                found.append(self.slant_names[piece].box)
        for node in nodes:
            x, y = self.places.x[node], self.places.y[node]
            radius = self.places.radii.get(node, 10.0)
            found.append(Box(x - radius, y - radius, x + radius, y + radius))
            label = self.places.labels[node]
            if label is not None:
                found.append(self.label_box(node, label))
        return found

    def item_box(self, piece: int, item: Item) -> Box:
        """Return the room that a thing beside a piece takes."""
        rail = self.places.rails[piece]
        far = rail - item.height if item.side == "above" else rail + item.height
        near = rail - 3 if item.side == "above" else rail + 3
        what = f"{item.kind} {item.id}"
        return Box(item.x, min(far, near), item.x + item.width, max(far, near), what)

    def label_box(self, node: int, label: Label) -> Box:
        """Return the room that the name of a node takes."""
        left, top = self.places.x[node] + label.left, self.places.y[node] + label.top
        what = f"{self.graph.nodes[node].kind} {self.graph.nodes[node].id}"
        return Box(left, top, left + label.width, top + label.height, what)

    def bounds(self) -> Box:
        """Return the room that all of it takes."""
        boxes = self.reaches([p.index for p in self.pieces()], [n.index for n in self.nodes()])
        if not boxes:
            return Box(0, 0, 100, 40)
        return Box(
            min(box.left for box in boxes),
            min(box.top for box in boxes),
            max(box.right for box in boxes),
            max(box.bottom for box in boxes),
        )


def sketch(
    layout: Layout,
    marks: Marks | None = None,
    *,
    widest: float | None = None,
) -> Sketch:
    """Find all places and lines of the drawing of a plan.

    ``widest`` limits the width of a row (default: one row of any width). A plan with errors raises
    nothing: the drawing shows the parts that it understands.
    """
    marks = marks or {}
    graph = build_graph(layout)
    cut_ovals(graph, layout)
    hints = find_hints(graph, layout)
    order = order_pieces(graph, _widths(graph, layout), hints)
    slanting = find_slanting(graph, layout)
    while True:
        found = _arrange(layout, graph, order, slanting, marks, hints)
        across = _misfits(found, slanting)
        if not across:
            found.unfollowed = unfollowed(found, hints)
            if widest is not None:
                fold(found, widest)
            found.slant_names = name_slants(found)
            return found
        # A slant that does not fit between its neighbours gets a lane of its own.
        slanting = [slant and piece not in across for piece, slant in enumerate(slanting)]


def _widths(graph: Graph, layout: Layout) -> list[float]:
    """Return an estimate of the width of each piece."""
    contents = find_contents(graph, layout, find_slanting(graph, layout), {})
    return [40.0 + max(content.width("above"), content.width("below")) for content in contents]


def _misfits(found: Sketch, slanting: list[bool]) -> set[int]:
    """Return the slants that cover something, or leave no room for the name of a crossing."""
    graph, lines, boxes = found.graph, found.lines, found.boxes()
    across = {p for pair in crossed(graph, lines) for p in pair}
    across |= {p for p, line in enumerate(lines) if any(box_meets_line(b, line) for b in boxes)}
    for piece in graph.pieces:
        ends = sorted(found.lanes.of_node[node] for node in (piece.left, piece.right))
        if not ends[0] <= found.lanes.of_piece[piece.index] <= ends[1]:
            across.add(piece.index)  # the slant would have to turn back
    for node in graph.nodes:
        label = found.places.labels[node.index]
        if node.kind == "crossings" and label is not None:
            own = found.label_box(node.index, label)
            if any(own.overlaps(box) for box in boxes if box.what != own.what) or any(
                box_meets_line(own, line) for line in lines
            ):
                across |= {*node.ins, *node.outs}
    return {piece for piece in across if slanting[piece]}


def _arrange(
    layout: Layout,
    graph: Graph,
    order: DrawingOrder,
    slanting: list[bool],
    marks: Marks,
    hints: Hints,
) -> Sketch:
    lanes = find_lanes(graph, layout, order, slanting, hints.lanes)
    contents = find_contents(graph, layout, slanting, marks)
    lane = {p: lanes.of_piece[p] for p in range(len(graph.pieces))}
    add_names(graph, layout, slanting, contents, lane, marks)
    placer = Placer(graph, layout, order, lanes, contents, marks, hints.orders)
    places = placer.place()
    lines = lines_of(graph, places, slanting)
    return Sketch(layout, graph, order, lanes, places, lines, marks)
