"""The rows of a drawing: its connected parts, below each other and where there is room beside.

Each part keeps its own lines and items; parts only move as wholes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.drawing.bands import draw_together, shift

if TYPE_CHECKING:
    from trappoint.drawing.sketch import Sketch

BETWEEN, BESIDE = 24.0, 44.0
"""The room between two rows, and between two parts in one row, in drawing units."""


def stack_rows(drawing: Sketch, widest: float) -> None:
    """Put the parts of a drawing into rows at most ``widest`` wide, if the parts are.

    A drawing in one part stays as it is.
    """
    below = right = high = 0.0
    parts = parts_of(drawing)
    if len(parts) < 2:
        return
    for pieces, nodes in parts:
        draw_together(drawing, pieces, nodes)
        boxes = drawing.reaches(pieces, nodes)
        left, top = min(box.left for box in boxes), min(box.top for box in boxes)
        width = max(box.right for box in boxes) - left
        height = max(box.bottom for box in boxes) - top
        if drawing.rows and right + BESIDE + width <= widest:
            shift(drawing, pieces, nodes, (right + BESIDE - left, below - top))
            drawing.rows[-1] = [*drawing.rows[-1][0], *pieces], [*drawing.rows[-1][1], *nodes]
            right, high = right + BESIDE + width, max(high, height)
            continue
        below += high + BETWEEN if drawing.rows else 0.0
        shift(drawing, pieces, nodes, (-left, below - top))
        drawing.rows.append((pieces, nodes))
        right, high = width, height


def parts_of(drawing: Sketch) -> list[tuple[list[int], list[int]]]:
    """Return the pieces and the nodes of each connected part, from top to bottom."""
    found = []
    for part in drawing.order.parts:
        pieces = sorted({piece for state in part.states for piece in state})
        found.append((pieces, sorted(part.sequence)))
    return found
