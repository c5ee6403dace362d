"""Long plans in rows: a drawing that is too wide for its sheet continues in a row below.

Each cut track has the same letter on both sides, as at the cut of an oval. Everything keeps its
place beside its neighbours, so that nothing overlaps.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.drawing.bands import draw_together, shift
from trappoint.drawing.contents import ID_SIZE, Content
from trappoint.drawing.drawn_places import Label
from trappoint.drawing.oval_cuts import letters
from trappoint.drawing.row_ends import AROUND, Fold, find_fold, middle_of
from trappoint.drawing.text_width import width_of

if TYPE_CHECKING:
    from trappoint.drawing.contents import Side
    from trappoint.drawing.graph import DrawnPiece
    from trappoint.drawing.sketch import Sketch

BETWEEN = 34.0
"""The room between two rows, in drawing units."""

SHORTEST, WIDER = 0.55, 1.2
"""The least length of a row, as a share of the greatest; the factor by which the greatest length
grows if no end of a row is found."""


def fold(drawing: Sketch, most: float) -> None:
    """Split a drawing that is wider than ``most`` into rows of about that width."""
    bounds = drawing.bounds()
    start = bounds.left
    rows = [0] * len(drawing.graph.nodes)
    folds: list[Fold] = []
    while bounds.right - start > most:
        # The last two rows share the rest evenly.
        left = bounds.right - start
        longest = most if left > 2 * most else min(most, max(left / 2 * 1.15, most * 0.6))
        found = None
        while found is None and start + longest < bounds.right:
            least = start + longest * SHORTEST
            found = find_fold(drawing, rows, folds, (least, start + longest))
            longest *= WIDER
        if found is None:
            break
        begins = [drawing.places.x[node] for node in found.beyond] + list(found.cuts.values())
        if min(begins) - AROUND <= start:
            break
        start = min(begins) - AROUND
        folds.append(found)
        for node in found.beyond:
            rows[node] = len(folds)
    if folds:
        _part_all(drawing, folds, rows)
        _move(drawing, rows)


def _part_all(drawing: Sketch, folds: list[Fold], rows: list[int]) -> None:
    """Cut every piece that continues in the next row."""
    rest: dict[int, DrawnPiece] = {}
    for number, one in enumerate(folds):
        # From top to bottom, so that the letters are in order.
        for index in sorted(one.cuts, key=lambda piece: drawing.places.rails[piece]):
            piece = rest.get(index, drawing.graph.pieces[index])
            rest[index] = _part_piece(drawing, piece, one.cuts[index])
            rows += [number, number + 1]


def _part_piece(drawing: Sketch, piece: DrawnPiece, x: float) -> DrawnPiece:
    """Cut a piece; return its right part, which is new."""
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
    return rest


def _split_places(drawing: Sketch, piece: int, right: int, x: float) -> None:
    """Divide the items of a piece between its two parts."""
    places = drawing.places
    content = places.contents[piece]
    sides: tuple[Side, Side] = ("above", "below")
    kept, given = Content(), Content()
    for side in sides:
        for item in content.on(side):
            (kept if middle_of(item) < x else given).add(item)
    places.contents[piece] = kept
    places.contents.append(given)
    places.rails.append(places.rails[piece])
    places.spans.append(dict(places.spans[piece]))
    drawing.lanes.of_piece.append(drawing.lanes.of_piece[piece])
    drawing.lanes.slanting.append(False)
    rest = len(places.rails) - 1
    places.runs[rest, right] = places.runs.pop((piece, right), 0.0)


def _move(drawing: Sketch, rows: list[int]) -> None:
    """Move each row to the left border and below the row before it."""
    below = 0.0
    for row in range(max(rows) + 1):
        nodes = [node for node, own in enumerate(rows) if own == row]
        pieces = [piece.index for piece in drawing.graph.pieces if rows[piece.left] == row]
        if not pieces:
            continue
        draw_together(drawing, pieces, nodes)
        boxes = drawing.reaches(pieces, nodes)
        left, top = min(box.left for box in boxes), min(box.top for box in boxes)
        shift(drawing, pieces, nodes, (-left, below - top))
        below += max(box.bottom for box in boxes) - top + BETWEEN
        drawing.rows.append((pieces, nodes))
