"""Long plans folded: a drawing that is too wide for its sheet goes on in a second row, and a third.

Each track that is parted so has the same letter on both sides, as where an oval is cut. Everything
keeps its place beside its neighbours, so that nothing comes to lie over anything else.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.drawing.contents import ID_SIZE, Content
from trappoint.drawing.cutting import letters
from trappoint.drawing.letters import width_of
from trappoint.drawing.places import Label
from trappoint.drawing.shifting import draw_together, shift

if TYPE_CHECKING:
    from trappoint.drawing.contents import Item, Side
    from trappoint.drawing.graph import Piece
    from trappoint.drawing.sketch import Sketch

BETWEEN, STEP = 34.0, 4.0
"""The room between two rows; how finely the place of a fold is sought."""

SHORTEST = 0.55
"""How short a row may be, as a part of the longest."""


def fold(drawing: Sketch, most: float) -> None:
    """Fold a drawing that is wider than ``most``, so that it has rows no wider, or hardly."""
    bounds = drawing.bounds()
    if bounds.right - bounds.left <= most:
        return
    folds: list[float] = []
    start = bounds.left
    while bounds.right - start > most:
        # The last two rows are as long as each other, rather than full and all but empty.
        left = bounds.right - start
        longest = most if left > 2 * most else max(left / 2 * 1.15, most * 0.6)
        at = _best_fold(drawing, start + longest * SHORTEST, start + min(longest, most))
        # Where slants leave no place for a fold, the row becomes longer than it should.
        far = most
        while at is None and start + far < bounds.right - BETWEEN:
            at = _best_fold(drawing, start + far * 0.4, start + far * 1.5)
            far *= 1.5
        if at is None:
            break
        folds.append(at)
        start = at
    if not folds:
        return
    for at in folds:
        _part(drawing, at)
    _move(drawing, folds)


def _best_fold(drawing: Sketch, least: float, most: float) -> float | None:
    """Return where the fewest tracks are parted; None where a fold would part a slant."""
    best: tuple[float, float] | None = None
    for step in range(int((most - least) / STEP)):
        at = most - step * STEP
        parted = _parted(drawing, at)
        if parted is not None:
            price = parted + 3 * step * STEP / (most - least)
            if best is None or price < best[0]:
                best = price, at
    return best[1] if best else None


def _parted(drawing: Sketch, at: float) -> int | None:
    """Count the tracks that a fold would part; None where it can not be there."""
    parted = 0
    for piece, line in zip(drawing.graph.pieces, drawing.lines, strict=True):
        left, right = line[0][0], line[-1][0]
        if left - 26 < at < right + 26 and drawing.lanes.slanting[piece.index]:
            return None
        if left < at < right:
            if _cut_place(drawing, piece, at) is None:
                return None
            parted += 1
    return parted


def _level(drawing: Sketch, piece: Piece) -> tuple[float, float]:
    """Return from where to where a piece runs along its lane."""
    line, rail = drawing.lines[piece.index], drawing.places.rails[piece.index]
    level = [x for x, y in line if abs(y - rail) < 0.01]
    return min(level), max(level)


def _middle(item: Item) -> float:
    return item.x + item.width / 2


def _cut_place(drawing: Sketch, piece: Piece, at: float) -> float | None:
    """Return where a piece is parted for a fold: between the things that go to each side."""
    left, right = _level(drawing, piece)
    for span in drawing.places.spans[piece.index].values():
        left, right = max(left, span[0]), min(right, span[1])
    content = drawing.places.contents[piece.index]
    for item in (*content.above, *content.below):
        if _middle(item) < at:
            left = max(left, item.x + item.width)
        else:
            right = min(right, item.x)
    if right - left < 4:
        return None
    return min(max(at, left + 2), right - 2)


def _part(drawing: Sketch, at: float) -> None:
    """Part every piece that a fold goes through."""
    for piece in list(drawing.graph.pieces):
        line = drawing.lines[piece.index]
        if line[0][0] < at < line[-1][0]:
            x = _cut_place(drawing, piece, at)
            if x is not None:
                _part_piece(drawing, piece, x)


def _part_piece(drawing: Sketch, piece: Piece, x: float) -> None:
    graph, places = drawing.graph, drawing.places
    name = letters(sum(node.kind == "cut" for node in graph.nodes) // 2)
    here, there = graph.node("cut", name), graph.node("cut", name)
    rest = graph.piece(piece.track, there.index, piece.right, ("", piece.right_leg))
    rest.turned, rest.part, rest.start, rest.stop = piece.turned, piece.part + 1, 0.5, piece.stop
    right = graph.nodes[piece.right]
    right.ins[right.ins.index(piece.index)] = rest.index
    here.ins, there.outs = [piece.index], [rest.index]
    _split_places(drawing, piece.index, piece.right, x)
    piece.right, piece.right_leg, piece.stop = here.index, "", 0.5
    line = drawing.lines[piece.index]
    rail = places.rails[piece.index]
    drawing.lines[piece.index] = [*(p for p in line if p[0] < x), (x, rail)]
    drawing.lines.append([(x, rail), *(p for p in line if p[0] > x)])
    width = width_of(name, ID_SIZE)
    for node, left in ((here, 15.0), (there, -15.0 - width)):
        places.x.append(x)
        places.y.append(rail)
        places.labels.append(Label(name, left, -7, width, 14))
        drawing.lanes.of_node.append(drawing.lanes.of_piece[piece.index])
        places.runs[node.ins[0] if node.ins else rest.index, node.index] = 0.0


def _split_places(drawing: Sketch, piece: int, right: int, x: float) -> None:
    """Give what stands along a piece to the part on whose side it is."""
    places = drawing.places
    content = places.contents[piece]
    sides: tuple[Side, Side] = ("above", "below")
    kept, given = Content(), Content()
    for side in sides:
        for item in content.on(side):
            (kept if _middle(item) < x else given).add(item)
    places.contents[piece] = kept
    places.contents.append(given)
    places.rails.append(places.rails[piece])
    places.spans.append(dict(places.spans[piece]))
    drawing.lanes.of_piece.append(drawing.lanes.of_piece[piece])
    drawing.lanes.slanting.append(False)
    rest = len(places.rails) - 1
    places.runs[rest, right] = places.runs.pop((piece, right), 0.0)


def _move(drawing: Sketch, folds: list[float]) -> None:
    """Move each row to the left and below the one before it."""
    places, graph = drawing.places, drawing.graph
    rows = [sum(x > at for at in folds) for x in places.x]
    for piece in graph.pieces:
        # A fold parts a track a little to either side of itself: the letters go with the track.
        if graph.nodes[piece.left].kind == "cut" and graph.nodes[piece.right].kind != "cut":
            rows[piece.left] = rows[piece.right]
        elif graph.nodes[piece.right].kind == "cut" and graph.nodes[piece.left].kind != "cut":
            rows[piece.right] = rows[piece.left]
        elif graph.nodes[piece.left].kind == "cut":
            middle = (drawing.lines[piece.index][0][0] + drawing.lines[piece.index][-1][0]) / 2
            rows[piece.left] = rows[piece.right] = sum(middle > at for at in folds)
    below = 0.0
    for row in range(len(folds) + 1):
        nodes = [node for node, own in enumerate(rows) if own == row]
        pieces = [piece.index for piece in graph.pieces if rows[piece.left] == row]
        if not pieces:
            continue
        draw_together(drawing, pieces, nodes)
        boxes = drawing.reaches(pieces, nodes)
        left, top = min(box.left for box in boxes), min(box.top for box in boxes)
        shift(drawing, pieces, nodes, (-left, below - top))
        below += max(box.bottom for box in boxes) - top + BETWEEN
        drawing.rows.append((pieces, nodes))
