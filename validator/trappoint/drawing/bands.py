"""Bands of a drawing, moved closer together.

A band is a set of pieces and nodes without a slant to the pieces above or below it, so it can move
upwards as a whole into free room.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.drawing.lane_heights import AIR, BESIDE, PITCH, RAIL

if TYPE_CHECKING:
    from trappoint.drawing.geometry import Box, Point
    from trappoint.drawing.sketch import Sketch


def draw_together(drawing: Sketch, pieces: list[int], nodes: list[int]) -> None:
    """Move each band of these pieces and nodes upwards into free room."""
    bands = _bands(drawing, pieces, nodes)
    above: list[Box] = []
    for own_pieces, own_nodes in bands:
        boxes = drawing.reaches(own_pieces, own_nodes)
        room = _room(above, boxes)
        if room:
            shift(drawing, own_pieces, own_nodes, (0.0, -room))
            boxes = drawing.reaches(own_pieces, own_nodes)
        above += boxes


def shift(drawing: Sketch, pieces: list[int], nodes: list[int], by: Point) -> None:
    """Move these pieces and nodes with their items and labels."""
    places = drawing.places
    across, down = by
    for node in nodes:
        places.x[node] = round(places.x[node] + across, 2)
        places.y[node] = round(places.y[node] + down, 2)
    for piece in pieces:
        places.rails[piece] = round(places.rails[piece] + down, 2)
        drawing.lines[piece] = [
            (round(x + across, 2), round(y + down, 2)) for x, y in drawing.lines[piece]
        ]
        content = places.contents[piece]
        for item in (*content.above, *content.below):
            item.x += across


def _bands(
    drawing: Sketch, pieces: list[int], nodes: list[int]
) -> list[tuple[list[int], list[int]]]:
    """Return (pieces, nodes) of each band, from top to bottom."""
    spans = []
    for piece in pieces:
        heights = [y for _, y in drawing.lines[piece]]
        spans.append((min(heights), max(heights)))
    for node in nodes:
        own = drawing.graph.nodes[node]
        rails = [drawing.places.rails[piece] for piece in (*own.ins, *own.outs)]
        heights = rails if own.kind == "bend" else [drawing.places.y[node]]
        spans.append((min(heights), max(heights)))
    tops: list[tuple[float, float]] = []
    for low, high in sorted(spans):
        if tops and low <= tops[-1][1] + 0.5:
            tops[-1] = tops[-1][0], max(tops[-1][1], high)
        else:
            tops.append((low, high))
    bands: list[tuple[list[int], list[int]]] = [([], []) for _ in tops]
    for number, (low, _) in enumerate(spans):
        band = sum(top <= low + 0.25 for top, _ in tops) - 1
        if number < len(pieces):
            bands[band][0].append(pieces[number])
        else:
            bands[band][1].append(nodes[number - len(pieces)])
    return bands


def _room(above: list[Box], boxes: list[Box]) -> float:
    """Return the distance that a band can move upwards."""
    rooms = [
        one.top - other.bottom - (AIR if one.what or other.what else PITCH - 4 * RAIL)
        for one in boxes
        for other in above
        if one.left < other.right + BESIDE and other.left < one.right + BESIDE
    ]
    if not above:
        return 0.0
    tops = min(box.top for box in boxes) - min(box.top for box in above) - PITCH
    return max(0.0, min([tops, *rooms]))
