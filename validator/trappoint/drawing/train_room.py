"""The straights of a stretch of track, and what a train on them keeps clear of."""

from __future__ import annotations

from itertools import pairwise
from math import atan2, cos, hypot, sin
from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.arrows import arrow_on
from trappoint.drawing.elements import BLADE
from trappoint.drawing.symbols import foot_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.drawing.contents import Item
    from trappoint.drawing.geometry import Box, Point
    from trappoint.drawing.moment import Stretch
    from trappoint.drawing.sketch import Sketch
    from trappoint.model.layout import Head, Signal

HIGH, LEAST, GAP = 10.0, 8.0, 3.0
"""The height of a train, its least width, and the room between it and other things."""

FOOT = 3.0
"""Half the width of the foot of a post."""

Span = tuple[float, float]
"""A part of a straight, in units from its left end."""


class Straight(NamedTuple):
    """A straight part of a piece, from left to right."""

    piece: int
    start: Point
    angle: float
    """Its slope in radians, clockwise; 0 for level rails."""
    length: float
    span: Span
    """The part on the stretch."""
    clear: tuple[list[Span], ...]
    """What to keep clear of: feet of signals, then labels, legs of points, arrows."""

    def at(self, along: float) -> Point:
        """Return the point at this distance from the left end."""
        return self.start[0] + along * cos(self.angle), self.start[1] + along * sin(self.angle)

    def along(self, point: Point) -> Point:
        """Return a point by its distance along the straight, and its distance across."""
        x, y = point[0] - self.start[0], point[1] - self.start[1]
        c, s = cos(self.angle), sin(self.angle)
        return x * c + y * s, y * c - x * s

    def free(self, kinds: int) -> Iterator[Span]:
        """Yield the spans that are clear of the first few kinds of things."""
        at, end = self.span
        for start, stop in sorted(span for kind in self.clear[:kinds] for span in kind):
            if start > at:
                yield at, min(start, end)
            at = max(at, stop)
        yield at, end


def straights_of(drawing: Sketch, stretch: Stretch) -> list[Straight]:
    """Return the straights of a stretch; empty if its track is not drawn.

    If the diagram leaves no room between two posts, the result is the spot between them.
    """
    found = list(_straights(drawing, stretch))
    with_room = [each for each in found if each.span[1] > each.span[0]]
    if with_room or not found:
        return with_room
    nearest = max(found, key=lambda each: each.span[1] - each.span[0])
    stop, start = nearest.span
    at = min(max((start + stop) / 2, 0.0), nearest.length)
    return [nearest._replace(span=(at, at))]


def _straights(drawing: Sketch, stretch: Stretch) -> Iterator[Straight]:
    track, *cuts = stretch
    for piece in drawing.graph.pieces:
        if piece.track != track:
            continue
        low, high = _limits(drawing, piece.index, *cuts)
        boxes = [*_boxes(drawing, piece.index)]
        line = drawing.lines[piece.index]
        for number, (a, b) in enumerate(pairwise(line)):
            left = piece.left if number == 0 else None
            right = piece.right if number == len(line) - 2 else None
            found = _straight(drawing, piece.index, (a, b), (left, right), (low, high))
            found.clear[1].extend(_near(found, boxes))
            yield found


def _straight(
    drawing: Sketch,
    piece: int,
    line: tuple[Point, Point],
    nodes: tuple[int | None, int | None],
    limits: Span,
) -> Straight:
    """Return a straight between two nodes or bends (None), within limits from left to right."""
    (x, y), (u, v) = line
    angle = atan2(v - y, u - x) if abs(v - y) > 0.01 else 0.0
    length = hypot(u - x, v - y)
    inset = [1.0 if node is None else drawing.places.radii.get(node, 2.0) for node in nodes]
    span = (
        max(inset[0], (limits[0] - x) / cos(angle)),
        min(length - inset[1], (limits[1] - x) / cos(angle)),
    )
    ends = ((-GAP, BLADE + GAP), (length - BLADE - GAP, length + GAP))
    legs = [
        end
        for node, end in zip(nodes, ends, strict=True)
        if node is not None and drawing.graph.nodes[node].kind in ("points", "crossings", "bridge")
    ]
    feet, arrows = [], []
    if angle == 0.0:
        at = [foot_of(item) - x for item, _ in _posts(drawing, piece)]
        feet = [(foot - FOOT - GAP, foot + FOOT + GAP) for foot in at]
        arrow = arrow_on(drawing, piece)
        arrows = [] if arrow is None else [(arrow.left - x - GAP, arrow.right - x + GAP)]
    return Straight(piece, (x, y), angle, length, span, (feet, [], legs, arrows))


def _boxes(drawing: Sketch, piece: int) -> Iterator[Box]:
    """Yield the room of labels that a train on a piece may cover.

    Most things beside its own piece begin where a train ends; a name above the rails does not.
    """
    content = drawing.places.contents[piece]
    beside = {
        drawing.item_box(piece, item)
        for item in (*content.above, *content.below)
        if item.kind != "track" or item.side == "below"
    }
    yield from (box for box in drawing.boxes() if box not in beside)


def _near(straight: Straight, boxes: Iterable[Box]) -> Iterator[Span]:
    """Yield the spans on which a train would come near a box."""
    for box in boxes:
        corners = [
            straight.along((x, y)) for x in (box.left, box.right) for y in (box.top, box.bottom)
        ]
        across = [y for _, y in corners]
        if min(across) < HIGH / 2 and max(across) > -HIGH / 2:
            yield min(x for x, _ in corners) - GAP, max(x for x, _ in corners) + GAP


def _limits(drawing: Sketch, piece: int, after: float | None, before: float | None) -> Span:
    """Return the limits of a stretch on a piece, from left to right.

    A train stands behind a post at the end that it runs to, though the diagram has rails beyond.
    Without other room, it covers the foot of the post.
    """
    own = drawing.graph.pieces[piece]
    low, high = drawing.lines[piece][0][0], drawing.lines[piece][-1][0]
    for cut, from_up in ((after, True), (before, False)):
        at = [
            foot_of(item)
            for item, post in _posts(drawing, piece)
            if post.at_mm == cut and (cut is not None or (post.heading == "up") == from_up)
        ]
        if cut is not None and not at:
            at = [_end_near(drawing, piece, cut)]
        if from_up != own.turned:
            low = max([low, *(each - FOOT for each in at)])
        else:
            high = min([high, *(each + FOOT for each in at)])
    return low, high


def _posts(drawing: Sketch, piece: int) -> Iterator[tuple[Item, Signal | Head]]:
    """Yield the posts and heads for a piece with their items."""
    signals, content = drawing.layout.signals, drawing.places.contents[piece]
    for item in (*content.above, *content.below):
        if item.kind == "signal":
            yield item, signals[item.id]
        elif item.kind == "head":
            signal, _, number = item.id.rpartition("-")
            yield item, signals[signal].heads[int(number)]


def _end_near(drawing: Sketch, piece: int, cut: float) -> float:
    """Return the end of a piece that is next to a cut on another piece of the track."""
    own = drawing.graph.pieces[piece]
    length = drawing.layout.tracks[own.track].length_mm
    share = cut / length if length else 0.5
    at_left = (share < (own.start + own.stop) / 2) != own.turned
    return drawing.lines[piece][0 if at_left else -1][0]
