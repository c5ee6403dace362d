"""The names of tracks drawn as one slant: beside the slant, or at the end of a fine line to it.

They take free room after everything else has its place, so nothing moves for them.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.contents import TRACK_SIZE
from trappoint.drawing.geometry import Box, box_meets_line, segments_meet
from trappoint.drawing.text_width import width_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.drawing.geometry import Point
    from trappoint.drawing.sketch import Sketch

HIGH, BESIDE = 11.0, 11.0
"""The height of a name; how far beside its slant its middle stands."""

SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)
"""The shares of a slant's length at which to try its name, the best first."""

FAR = tuple(
    (away, round(away * rise))
    for away in (16, 28, 44, 64, 90, 120)
    for rise in (-0.6, 0.6, -0.3, 0.3, 0, -1.0, 1.0, -1.6, 1.6)
)
"""Offsets from a slant at which to try its name if no place beside it is free, nearest first."""


class SlantName(NamedTuple):
    """The name of a slanting track, and where it stands."""

    text: str
    box: Box
    leader: tuple[Point, Point] | None
    """The fine line from the slant to a distant name; None for a name beside it."""


def name_slants(drawing: Sketch) -> dict[int, SlantName]:
    """Return the names of tracks without a level piece, for each that has a free place."""
    level = {p.track for p in drawing.graph.pieces if not drawing.lanes.slanting[p.index]}
    pieces = [p.index for p in drawing.graph.pieces]
    taken = drawing.reaches([], [node.index for node in drawing.graph.nodes])
    taken += [drawing.item_box(piece, item) for piece, item in drawing.items()]
    named: dict[int, SlantName] = {}
    seen: set[str] = set()
    for piece in drawing.graph.pieces:
        if piece.track in level or piece.track in seen:
            continue
        seen.add(piece.track)
        text = piece.track + drawing.marks.get(("tracks", piece.track), "")
        room = [
            name
            for name in _places(text, drawing.lines[piece.index])
            if _has_room(drawing, name.box, pieces, taken)
        ]
        lines = [drawing.lines[other] for other in pieces if other != piece.index]
        over_tracks = (name for name in room if not _crosses(name, taken, []))
        clear = (name for name in room if not _crosses(name, taken, lines))
        # Where a track is shut in, its leader has to go over another one.
        name = next(clear, None) or next(over_tracks, None)
        if name is not None:
            named[piece.index] = name
            taken.append(name.box)
    return named


def _places(text: str, line: list[Point]) -> Iterator[SlantName]:
    """Yield places for a name, the best first."""
    (x1, y1), (x2, y2) = line[0], line[-1]
    wide = width_of(text, TRACK_SIZE)
    what = f"name of {text}"

    def box(x: float, y: float, way: int) -> Box:
        left = x if way > 0 else x - wide
        return Box(left, y - HIGH / 2, left + wide, y + HIGH / 2, what)

    for share in SHARES:
        x, y = x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
        for way in (1, -1):
            yield SlantName(text, box(x + way * BESIDE, y, way), None)
    for across, down in FAR:
        for share in SHARES[:3]:
            x, y = x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
            for way in (1, -1):
                to = (x + way * across, y + down)
                yield SlantName(text, box(to[0] + way * 2, to[1], way), ((x, y), to))


def _has_room(drawing: Sketch, box: Box, pieces: list[int], taken: list[Box]) -> bool:
    """Return whether nothing is where a name would stand."""
    around = Box(box.left - 2, box.top - 2, box.right + 2, box.bottom + 2)
    return not any(around.overlaps(other) for other in taken) and not any(
        box_meets_line(around, drawing.lines[piece]) for piece in pieces
    )


def _crosses(name: SlantName, taken: list[Box], lines: list[list[Point]]) -> bool:
    """Return whether something is on the way of the line that leads to a name."""
    if name.leader is None:
        return False
    start, stop = name.leader
    leader = sorted(name.leader)
    return any(box_meets_line(other, leader) for other in taken) or any(
        segments_meet(start, stop, a, b) for line in lines for a, b in pairwise(line)
    )
