"""Names that stand where there is room: beside their thing, or at the end of a leader.

A leader is a fine line from a name to its thing. Names take free room after everything else has its
place, so nothing moves for them.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Generic, NamedTuple, TypeVar

from trappoint.drawing.geometry import Box, box_meets_line, segments_meet

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.drawing.geometry import Point

Leader = tuple["Point", "Point"]
"""From the thing to the name."""

AIR, BESIDE_LINE = 2.0, 3.0
"""The room between a name and other things; between a name and the middle of a line, so that the
track may be drawn thicker as part of a lit road."""

FAR = tuple(
    (away, round(away * rise))
    for away in (16, 28, 44, 64, 90, 120, 160, 210)
    for rise in (-0.6, 0.6, -0.3, 0.3, 0, -1.0, 1.0, -1.6, 1.6, -2.6, 2.6)
)
"""Offsets from a thing at which to try its name if no place beside it is free, nearest first."""


class Spot(NamedTuple):
    """A place for a name."""

    box: Box
    leader: Leader | None = None
    """None for a name beside its thing."""


def far_spots(start: Point, size: tuple[float, float], what: str) -> Iterator[Spot]:
    """Yield the places of a name at the end of a leader from ``start``, nearest first."""
    wide, high = size
    x, y = start
    for across, down in FAR:
        for way in (1, -1):
            to = (x + way * across, y + down)
            left = to[0] + 2 if way > 0 else to[0] - 2 - wide
            box = Box(left, to[1] - high / 2, left + wide, to[1] + high / 2, what)
            yield Spot(box, (start, to))


def anchor(box: Box, leader: Leader) -> tuple[float, str]:
    """Return the end of a name at which its leader ends, and how SVG anchors a text there."""
    return (box.left, "start") if leader[1][0] <= box.left else (box.right, "end")


T = TypeVar("T")

CELL = 64.0
"""The side of a square of the grid that finds what is near, in drawing units."""


class _Near(Generic[T]):
    """Things by the squares of a grid over which they lie."""

    def __init__(self) -> None:
        self.cells: dict[tuple[int, int], list[T]] = {}

    def add(self, box: Box, thing: T) -> None:
        for cell in _cells(box):
            self.cells.setdefault(cell, []).append(thing)

    def remove(self, box: Box, thing: T) -> None:
        for cell in _cells(box):
            self.cells[cell].remove(thing)

    def at(self, box: Box) -> Iterator[T]:
        """Yield the things near a box; some of them more than once."""
        for cell in _cells(box):
            yield from self.cells.get(cell, ())


def _cells(box: Box) -> list[tuple[int, int]]:
    columns = range(int(box.left // CELL), int(box.right // CELL) + 1)
    rows = range(int(box.top // CELL), int(box.bottom // CELL) + 1)
    return [(column, row) for column in columns for row in rows]


def _around(line: Iterable[Point]) -> Box:
    xs, ys = zip(*line, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


class Taken:
    """The room that is taken: boxes, lines of tracks, leaders."""

    def __init__(self, lines: list[list[Point]], boxes: Iterable[Box]) -> None:
        self._boxes: _Near[Box] = _Near()
        self._lines: _Near[tuple[int, list[Point]]] = _Near()
        self._leaders: _Near[list[Point]] = _Near()
        for box in boxes:
            self._boxes.add(box, box)
        for piece, line in enumerate(lines):
            for ends in pairwise(line):
                self._lines.add(_around(ends), (piece, list(ends)))
        self.within: Box | None = None
        """The limits for names that move; None for none."""

    def add(self, spot: Spot) -> None:
        """Note that a name stands here."""
        self._boxes.add(spot.box, spot.box)
        if spot.leader is not None:
            self._leaders.add(_around(spot.leader), sorted(spot.leader))

    def remove(self, box: Box) -> None:
        """Note that the place of a name is free again."""
        self._boxes.remove(box, box)

    def covers_any(self, box: Box, air: float = AIR) -> bool:
        """Return whether a name would stand over something else; boxes of its own name aside."""
        wide = Box(box.left - air, box.top - air, box.right + air, box.bottom + air, box.what)
        if any(wide.overlaps(other) for other in self._boxes.at(wide) if other.what != box.what):
            return True
        near = Box(
            box.left - BESIDE_LINE, box.top - BESIDE_LINE,
            box.right + BESIDE_LINE, box.bottom + BESIDE_LINE,
        )  # fmt: skip
        return any(box_meets_line(near, line) for _, line in self._lines.at(near)) or any(
            box_meets_line(wide, leader) for leader in self._leaders.at(wide)
        )

    def best(self, spots: Iterable[Spot], own: Iterable[int] = ()) -> Spot | None:
        """Return the first place with room, with a leader that crosses as few tracks as can be.

        ``own`` are the pieces at which leaders begin. A leader crosses another one only if there
        is no other room. None if there is no room at all.
        """
        tried: list[Spot] = []
        found = self._best(_kept(spots, tried), own)
        if found is None and self.within is not None:
            # Better a name in the room between two rows than none.
            limits, self.within = self.within, None
            found = self._best(tried, own)
            self.within = limits
        return found or self._best(tried, own, over_leaders=True)

    def _best(
        self, spots: Iterable[Spot], own: Iterable[int], *, over_leaders: bool = False
    ) -> Spot | None:
        aside = set(own)
        found: tuple[int, Spot] | None = None
        for spot in spots:
            if not self._is_inside(spot.box) or self.covers_any(spot.box):
                continue
            if spot.leader is None:
                return spot
            if self._is_in_the_way(spot.leader, over_leaders=over_leaders):
                continue
            crossed = self._crossings(spot.leader, aside)
            if crossed == 0:
                return spot
            # Where a thing is shut in, its leader has to go over a track.
            if found is None or crossed < found[0]:
                found = crossed, spot
        return found[1] if found else None

    def _is_inside(self, box: Box) -> bool:
        limits = self.within
        return limits is None or (
            limits.left <= box.left and box.right <= limits.right
            and limits.top <= box.top and box.bottom <= limits.bottom
        )  # fmt: skip

    def _is_in_the_way(self, leader: Leader, *, over_leaders: bool) -> bool:
        """Return whether a leader would cross a name, a thing or another leader."""
        start, stop = leader
        line, around = sorted(leader), _around(leader)
        return any(
            box_meets_line(box, line) for box in self._boxes.at(around) if not _holds(box, start)
        ) or (
            not over_leaders
            and any(segments_meet(start, stop, a, b) for a, b in self._leaders.at(around))
        )

    def _crossings(self, leader: Leader, aside: set[int]) -> int:
        """Return the number of tracks that a leader crosses, without those at its beginning."""
        return len(
            {
                piece
                for piece, (a, b) in self._lines.at(_around(leader))
                if piece not in aside and segments_meet(*leader, a, b)
            }
        )


def _kept(spots: Iterable[Spot], tried: list[Spot]) -> Iterator[Spot]:
    """Yield spots, and keep them for another trial."""
    for spot in spots:
        tried.append(spot)
        yield spot


def _holds(box: Box, point: Point) -> bool:
    """Return whether a thing without a name of its own, such as a node, is around a point."""
    x, y = point
    return not box.what and box.left <= x <= box.right and box.top <= y <= box.bottom
