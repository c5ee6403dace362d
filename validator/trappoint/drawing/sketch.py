"""From a plan to all places and lines of its drawing; nothing is written yet."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.contents import add_names, find_contents
from trappoint.drawing.geometry import Box, box_meets_line, crossed, lines_of
from trappoint.drawing.graph import build_graph
from trappoint.drawing.hints import find_hints, unfollowed
from trappoint.drawing.lanes import Lanes, find_lanes, find_slanting
from trappoint.drawing.loose_names import place_names
from trappoint.drawing.memory import (
    Memory,
    digest_of,
    lanes_before,
    level_before,
    places_before,
    read_memory,
    recall,
    rows_before,
)
from trappoint.drawing.oval_cuts import cut_ovals
from trappoint.drawing.placing import Placer
from trappoint.drawing.row_cuts import Division, cut_between, find_blocks, find_prices
from trappoint.drawing.rows import parts_of, stack_rows
from trappoint.drawing.vertical_order import DrawingOrder, Known, order_pieces

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.findings import Finding
    from trappoint.drawing.contents import Item, Marks
    from trappoint.drawing.drawn_places import DrawnPlaces, Label
    from trappoint.drawing.geometry import Point
    from trappoint.drawing.graph import DrawnPiece, Graph, Node
    from trappoint.drawing.hints import Hints
    from trappoint.drawing.loose_names import LooseName
    from trappoint.drawing.row_cuts import Block
    from trappoint.model.layout import Layout

ROUNDS_SAVE = 1.25
"""The factor by which a drawing may be too wide before its lanes come closer together."""

ATTEMPTS = 12
"""The greatest number of divisions into rows to try."""

SHARES = (1.0, 0.7, 0.5, 0.35)
"""The greatest widths of blocks, as shares of the width of the paper, until all rows fit."""


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
    loose_names: list[LooseName] = field(default_factory=list)
    """The names of tracks drawn as one slant, and of those without room beside their rails."""
    recalled: Memory | None = None
    """The memory of the drawing before."""
    digest: str = ""
    """A digest of all else that the drawing depends on."""
    blocks: tuple[Block, ...] = ()
    """The nodes of each row, of those that are no ends of cuts; empty for one row."""
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

    def sheets(self, highest: float | None) -> list[Sketch]:
        """Spread the rows over sheets of this height, at least one row to a sheet."""
        if highest is None:
            return [self]
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
        return [*boxes, *(name.box for name in self.loose_names)]

    def reaches(self, pieces: Iterable[int], nodes: Iterable[int]) -> list[Box]:
        """Return the room that pieces and nodes take, with all that belongs to them."""
        found = []
        for piece in pieces:
            (left, start), *_, (right, stop) = self.lines[piece]
            heights = (start, stop, self.places.rails[piece])
            found.append(Box(left, min(heights) - 8, right, max(heights) + 8))
            content = self.places.contents[piece]
            found += [self.item_box(piece, i) for i in (*content.above, *content.below)]
        own = set(pieces)
        found += [name.box for name in self.loose_names if name.piece in own]
        for node in nodes:
            x, y = self.places.x[node], self.places.y[node]
            radius = self.places.radii.get(node, 10.0)
            found.append(Box(x - radius, y - radius, x + radius, y + radius))
            label = self.places.labels[node]
            if label is not None:
                found.append(self.label_box(node, label))
        return found

    def width_of(self, pieces: list[int], nodes: list[int]) -> float:
        """Return the width of some pieces and nodes, with all that belongs to them."""
        boxes = self.reaches(pieces, nodes)
        return max(box.right for box in boxes) - min(box.left for box in boxes)

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
    before: object = None,
) -> Sketch:
    """Find all places and lines of the drawing of a plan.

    ``widest`` limits the width of a row (default: one row of any width). ``before`` is the memory
    of the drawing before (``memory``). A plan with errors raises nothing: the drawing shows the
    parts that it understands.
    """
    marks = marks or {}
    digest = digest_of(layout, marks, widest)
    memory = read_memory(before, layout, digest)
    found = _found(layout, marks, widest, memory)
    found.digest, found.recalled = digest, memory
    return found


def _found(layout: Layout, marks: Marks, widest: float | None, memory: Memory | None) -> Sketch:
    whole = _ordered(layout, (), {}, memory)
    if widest is None:
        return _drawn(layout, marks, _Paper(), whole)
    for names in (True, False):
        try:
            return _drawn(layout, marks, _Paper(widest, names=names), whole)
        except _TooWideError:
            continue
    return _in_rows(layout, marks, widest, memory)


class _Paper(NamedTuple):
    """What a drawing may take."""

    widest: float | None = None
    """The greatest width of a row; None for one row of any width."""
    rows: tuple[Block, ...] = ()
    """The nodes of each row; empty for one row."""
    names: bool = True
    """Whether each track is as long as its name; else names stand where there is room."""
    strict: bool = True
    """Whether a row may not be wider than the greatest width."""


class _TooWideError(Exception):
    """Rows are wider than the paper; ``rows`` holds their nodes."""

    def __init__(self, rows: list[list[int]]) -> None:
        super().__init__()
        self.rows = rows


def _in_rows(layout: Layout, marks: Marks, widest: float, memory: Memory | None) -> Sketch:
    """Return a drawing in rows, each as wide as the paper at most, if that can be."""
    graph = build_graph(layout)
    prices, widths = find_prices(graph, layout), _widths(graph, layout)
    known: Known = {}
    paper = _Paper(widest, rows_before(graph, memory), names=False)
    if paper.rows:
        try:
            return _drawn(layout, marks, paper, _ordered(layout, paper.rows, known, memory))
        except _TooWideError:
            pass
    for share in SHARES:
        blocks = find_blocks(graph, prices, widths, widest * share)
        own = _widths_of_blocks(layout, marks, blocks, known)
        division = Division(graph, prices, blocks, own, widest)
        for _ in range(ATTEMPTS):
            paper = _Paper(widest, tuple(division.rows()), names=False)
            try:
                return _drawn(layout, marks, paper, _ordered(layout, paper.rows, known, memory))
            except _TooWideError as wide:
                rows = [frozenset(n for n in row if n < len(graph.nodes)) for row in wide.rows]
            if any(row <= block for row in rows for block in blocks):
                break  # smaller blocks may fit
            for row in rows:
                division.forbid(row)
    ordered = _ordered(layout, paper.rows, known, memory)
    return _drawn(layout, marks, paper._replace(strict=False), ordered)


def _widths_of_blocks(
    layout: Layout, marks: Marks, blocks: list[Block], known: Known
) -> list[float]:
    """Return the least width of each block as a row of its own."""
    paper = _Paper(rows=tuple(blocks), names=False)
    graph, order, hints, memory = _ordered(layout, paper.rows, known, None)
    placer = _placer(
        layout, graph, order, find_slanting(graph, layout), marks, hints, paper, memory
    )
    found = [0.0] * len(blocks)
    block_of = {node: number for number, block in enumerate(blocks) for node in block}
    for nodes, width in placer.columns.narrowest(placer):
        number = block_of.get(nodes[0])
        if number is not None:
            found[number] = max(found[number], width / ROUNDS_SAVE)
    return found


_Ordered = tuple["Graph", "DrawingOrder", "Hints", "Memory | None"]
"""The graph of a plan with its cuts, the order from top to bottom, the hints, the memory."""


def _ordered(
    layout: Layout, rows: tuple[Block, ...], known: Known, memory: Memory | None
) -> _Ordered:
    graph = build_graph(layout)
    cut_between(graph, rows)
    cut_ovals(graph, layout, memory.cuts if memory is not None else ())
    hints = find_hints(graph, layout)
    recalled = recall(graph, memory) if memory is not None else None
    order = order_pieces(graph, _widths(graph, layout), hints, known, recalled)
    return graph, order, hints, memory


def _drawn(layout: Layout, marks: Marks, paper: _Paper, ordered: _Ordered) -> Sketch:
    """Return a drawing. Raises _TooWideError."""
    graph, order, hints, memory = ordered
    level = level_before(graph, memory)
    slanting = [
        slant and piece not in level for piece, slant in enumerate(find_slanting(graph, layout))
    ]
    while True:
        placer = _placer(layout, graph, order, slanting, marks, hints, paper, memory)
        if paper.strict and paper.widest is not None:
            _check_width(placer, paper.widest * ROUNDS_SAVE)
        # Most slants that do not fit are found before the lanes come closer together.
        found = _sketched(placer, placer.place_once())
        across = _misfits(found, slanting)
        if not across:
            found = _sketched(placer, placer.settle(found.places))
            across = _misfits(found, slanting)
        if not across:
            break
        # A slant that does not fit between its neighbours gets a lane of its own.
        slanting = [slant and piece not in across for piece, slant in enumerate(slanting)]
    found.unfollowed, found.blocks = unfollowed(found, hints), paper.rows
    if paper.widest is not None:
        stack_rows(found, paper.widest)
        rows = found.rows or parts_of(found)
        wide = [nodes for row, nodes in rows if found.width_of(row, nodes) > paper.widest]
        if wide and paper.strict:
            raise _TooWideError(wide)
    place_names(found)
    return found


def _widths(graph: Graph, layout: Layout) -> list[float]:
    """Return an estimate of the width of each piece."""
    contents = find_contents(graph, layout, find_slanting(graph, layout), {})
    return [40.0 + max(content.width("above"), content.width("below")) for content in contents]


def _misfits(found: Sketch, slanting: list[bool]) -> set[int]:
    """Return the slants that cover something, or leave no room for the name of a crossing."""
    slants = [piece for piece, slant in enumerate(slanting) if slant]
    if not slants:
        return set()
    graph, lines, boxes = found.graph, found.lines, found.boxes()
    across = {p for pair in crossed(graph, lines, slants) for p in pair}
    across |= {p for p in slants if any(box_meets_line(box, lines[p]) for box in boxes)}
    for piece in graph.pieces:
        ends = sorted(found.lanes.of_node[node] for node in (piece.left, piece.right))
        if not ends[0] <= found.lanes.of_piece[piece.index] <= ends[1]:
            across.add(piece.index)  # the slant would have to turn back
    for node in graph.nodes:
        label = found.places.labels[node.index]
        beside = [piece for piece in (*node.ins, *node.outs) if slanting[piece]]
        if beside and node.kind == "crossings" and label is not None:
            own = found.label_box(node.index, label)
            if any(own.overlaps(box) for box in boxes if box.what != own.what) or any(
                box_meets_line(own, line) for line in lines
            ):
                across.update(beside)
    return {piece for piece in across if slanting[piece]}


def _placer(
    layout: Layout,
    graph: Graph,
    order: DrawingOrder,
    slanting: list[bool],
    marks: Marks,
    hints: Hints,
    paper: _Paper,
    memory: Memory | None,
) -> Placer:
    lanes = find_lanes(graph, layout, order, slanting, hints.lanes, lanes_before(graph, memory))
    contents = find_contents(graph, layout, slanting, marks)
    lane = {p: lanes.of_piece[p] for p in range(len(graph.pieces))}
    add_names(graph, layout, slanting, contents, lane, marks, tracks=paper.names)
    places = places_before(graph, memory)
    return Placer(graph, layout, order, lanes, contents, marks, hints.orders, paper.widest, places)


def _check_width(placer: Placer, most: float) -> None:
    """Raise _TooWideError if a part of the drawing is wider than ``most``."""
    wide = [nodes for nodes, width in placer.columns.narrowest(placer) if width > most]
    if wide:
        raise _TooWideError(wide)


def _sketched(placer: Placer, places: DrawnPlaces) -> Sketch:
    """Return a drawing without the names of slants."""
    lines = lines_of(placer.graph, places, placer.lanes.slanting)
    return Sketch(
        placer.layout, placer.graph, placer.order, placer.lanes, places, lines, placer.marks
    )
