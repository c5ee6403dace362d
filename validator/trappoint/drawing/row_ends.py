"""The ends of rows: the tracks to cut so that a long drawing continues in the next row.

The end of a row need not be a straight line. Each node goes into this row or into the next one, and
the nodes to its right go with it. The search takes the division that cuts the fewest tracks and
leaves the least of the row empty; it is a minimum cut of a flow network (``convex_descent``).
Tracks are cut only beside free rail.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.convex_descent import NEVER, FlowNetwork
from trappoint.drawing.geometry import Box, box_meets_line

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.drawing.contents import Item
    from trappoint.drawing.geometry import Point
    from trappoint.drawing.graph import DrawnPiece
    from trappoint.drawing.sketch import Sketch

AROUND = 36.0
"""The room for the letter beyond the end of a cut track."""

CLEAR, BESIDE, AGAIN, SHORT = 6.0, 1.0, 90.0, 3.0
"""The free length of a track that a cut needs; its distance from the foot of a signal; the distance
of two cuts of a track; the price of the shortest allowed row, in cut tracks."""

ATTEMPTS = 12


class Fold(NamedTuple):
    """The end of a row."""

    beyond: frozenset[int]
    """The nodes in the next row or in a later one."""
    cuts: dict[int, float]
    """From each piece to cut to the place of the cut."""


def middle_of(item: Item) -> float:
    """Return the middle of an item, from left to right."""
    return item.x + item.width / 2


def find_fold(
    drawing: Sketch, rows: list[int], before: list[Fold], zone: tuple[float, float]
) -> Fold | None:
    """Return the best end of the last row within a zone; None if there is none.

    ``rows`` holds the row of each node after the folds ``before``.
    """
    own = [node for node, row in enumerate(rows) if row == len(before)]
    since = {piece: x for one in before for piece, x in one.cuts.items()}
    places: dict[int, float] = {}
    for piece in drawing.graph.pieces:
        if rows[piece.right] == len(before) and not drawing.lanes.slanting[piece.index]:
            low = since.get(piece.index, -NEVER) + AGAIN
            place = _place(drawing, piece, low, zone[1] - AROUND)
            if place is not None:
                places[piece.index] = place
    for _ in range(ATTEMPTS):
        beyond = _least_cut(drawing, own, places, zone)
        if beyond is None:
            return None
        cuts = {
            piece.index: places[piece.index]
            for piece in drawing.graph.pieces
            if piece.right in beyond and piece.left not in beyond
        }
        fold = Fold(beyond, cuts)
        bad = [index for index in cuts if _clashes(drawing, own, fold, index)]
        if not bad:
            return fold
        for index in bad:
            del places[index]
    return None


def _least_cut(
    drawing: Sketch,
    own: list[int],
    places: dict[int, float],
    zone: tuple[float, float],
) -> frozenset[int] | None:
    """Return the nodes beyond the best end; None if no end is allowed."""
    number = {node: at for at, node in enumerate(own)}
    network = FlowNetwork(len(own))
    x = drawing.places.x
    between = [node for node in own if zone[0] <= x[node] <= zone[1] - AROUND]
    for node in own:
        if x[node] < zone[0]:
            network.pipe(network.source, number[node], NEVER)
        elif x[node] > zone[1] - AROUND:
            network.pipe(number[node], network.sink, NEVER)
        else:
            network.pipe(network.source, number[node], SHORT / len(between))
    for piece in drawing.graph.pieces:
        if piece.right not in number:
            continue
        price = 1.0 if piece.index in places else NEVER
        left = number.get(piece.left, network.source)
        network.pipe(left, number[piece.right], price)
        if piece.left in number:
            network.pipe(number[piece.right], left, NEVER)
    if network.fill() >= NEVER:
        return None
    kept = {own[at] for at in network.side()}
    beyond = frozenset(node for node in own if node not in kept)
    return beyond if beyond and kept else None


def _place(drawing: Sketch, piece: DrawnPiece, low: float, high: float) -> float | None:
    """Return the place to cut a piece: between its items, as far right as possible."""
    line, rail = drawing.lines[piece.index], drawing.places.rails[piece.index]
    level = [x for x, y in line if abs(y - rail) < 0.01]
    low, high = max(low, min(level)), min(high, max(level))
    for span in drawing.places.spans[piece.index].values():
        low, high = max(low, span[0]), min(high, span[1])
    content = drawing.places.contents[piece.index]
    items = sorted((*content.above, *content.below), key=lambda i: i.x + i.width, reverse=True)
    for item in items:
        start, stop = _taken(item)
        if high - stop >= CLEAR:
            break
        high = min(high, start)
    else:
        return high - CLEAR / 2 if high - low >= CLEAR else None
    free = max(low, stop)
    return high - CLEAR / 2 if high - free >= CLEAR else None


def _taken(item: Item) -> tuple[float, float]:
    """Return the left and right limits of the zone without cuts beside an item."""
    start, stop = item.x, item.x + item.width
    if item.kind == "signal" and item.to_right:
        start -= BESIDE
    elif item.kind == "signal":
        stop += BESIDE
    return start, stop


def _clashes(drawing: Sketch, own: list[int], fold: Fold, piece: int) -> bool:
    """Return whether the letter at either end of a cut piece would cover something."""
    x, rail = fold.cuts[piece], drawing.places.rails[piece]
    here = [node for node in own if node not in fold.beyond]
    graph = drawing.graph
    lefts = [p.index for p in graph.pieces if p.left in here or p.right in here]
    lefts += [p for p in fold.cuts if p not in lefts]
    rights = [p.index for p in graph.pieces if p.right in fold.beyond]
    return _covers(
        drawing, Box(x - 2.5, rail - 9, x + AROUND, rail + 9), here, lefts, (fold, piece, True)
    ) or _covers(
        drawing,
        Box(x - AROUND, rail - 9, x + 2.5, rail + 9),
        fold.beyond,
        rights,
        (fold, piece, False),
    )


def _covers(
    drawing: Sketch,
    box: Box,
    nodes: Iterable[int],
    pieces: Iterable[int],
    ends: tuple[Fold, int, bool],
) -> bool:
    """Return whether a box lies over names, things or tracks of one row."""
    fold, own, is_left = ends
    for node in nodes:
        label = drawing.places.labels[node]
        if label is not None and box.overlaps(drawing.label_box(node, label)):
            return True
    for piece in pieces:
        x = fold.cuts.get(piece)
        content = drawing.places.contents[piece]
        for item in (*content.above, *content.below):
            stays = x is None or (middle_of(item) < x) == is_left
            if stays and box.overlaps(drawing.item_box(piece, item)):
                return True
        if piece != own and box_meets_line(box, _kept(drawing, piece, x, is_left)):
            return True
    return False


def _kept(drawing: Sketch, piece: int, x: float | None, is_left: bool) -> list[Point]:
    """Return the part of a piece's line on one side of its cut."""
    line = drawing.lines[piece]
    if x is None:
        return line
    end = (x, drawing.places.rails[piece])
    if is_left:
        return [*(p for p in line if p[0] < x), end]
    return [end, *(p for p in line if p[0] > x)]
