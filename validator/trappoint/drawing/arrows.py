"""The arrows on tracks that trains run over one way only: where each stands."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from trappoint.drawing.elements import BLADE
from trappoint.drawing.geometry import Box
from trappoint.drawing.symbols import foot_of

if TYPE_CHECKING:
    from trappoint.drawing.geometry import Point
    from trappoint.drawing.sketch import Sketch

HALF = 5.0
"""Half the length and half the height of an arrow."""


def arrow_on(drawing: Sketch, piece: int) -> Box | None:
    """Return the room of the arrow on a piece; None if it has no arrow, or no room for one."""
    own = drawing.graph.pieces[piece]
    if drawing.layout.tracks[own.track].running == "both" or drawing.lanes.slanting[piece]:
        return None
    rail = drawing.places.rails[piece]
    level = [x for x, y in drawing.lines[piece] if abs(y - rail) < 0.01]
    if len(level) < 2 or max(level) - min(level) < 2 * BLADE + 10:
        return None
    left, right = _between_names(drawing, piece, min(level), max(level))
    if right - left < 2 * HALF:
        return None
    x = _free_spot(drawing, piece, left, right)
    return Box(x - HALF, rail - HALF, x + HALF, rail + HALF, f"arrow on {own.track}")


def points_of_arrow(drawing: Sketch, piece: int) -> list[Point]:
    """Return the outline of the arrow on a piece; empty for none."""
    room = arrow_on(drawing, piece)
    if room is None:
        return []
    own = drawing.graph.pieces[piece]
    down = drawing.layout.tracks[own.track].running == "down"
    back, tip = (room.left, room.right) if down != own.turned else (room.right, room.left)
    return [
        (back, room.top), (tip, (room.top + room.bottom) / 2), (back, room.bottom),
        (back, room.top),
    ]  # fmt: skip


def _between_names(drawing: Sketch, piece: int, left: float, right: float) -> tuple[float, float]:
    """Return the part of a level rail that is not beside the names of its ends."""
    own, rail = drawing.graph.pieces[piece], drawing.places.rails[piece]
    for node in (own.left, own.right):
        label = drawing.places.labels[node]
        if label is None:
            continue
        box = drawing.label_box(node, label)
        if box.top < rail + HALF and box.bottom > rail - HALF:
            if node == own.left:
                left = max(left, box.right)
            else:
                right = min(right, box.left)
    return left, right


def _free_spot(drawing: Sketch, piece: int, left: float, right: float) -> float:
    """Return the middle of the longest part of a piece without the foot of a signal."""
    content = drawing.places.contents[piece]
    feet = sorted(
        foot_of(item)
        for item in (*content.above, *content.below)
        if item.kind in ("signal", "head")
    )
    spots = [left, *(foot for foot in feet if left < foot < right), right]
    _, start, stop = max((b - a, a, b) for a, b in pairwise(spots))
    return (start + stop) / 2
