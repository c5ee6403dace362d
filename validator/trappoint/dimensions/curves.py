"""The place where two centre lines reach a given distance, by exact geometry.

The lines part where they meet, at an angle or along one tangent, and each is a row of arcs and
straight pieces. The hand of each curve may be known: then the place is known. A track that gives
only its tightest radius may curve to either hand, anywhere, so that the place has two bounds. The
lines reach the distance soonest if each curves away from the other as tightly as it may, and latest
if each curves towards the other so, unless they become parallel first. (A track of a given length
goes farthest in one direction if it turns towards it as tightly as it may, and least far if it
turns away.)
"""

from __future__ import annotations

from itertools import accumulate
from math import cos, hypot, inf, isfinite, isinf, pi, radians, sin
from typing import TYPE_CHECKING, NamedTuple

from trappoint.dimensions.clearances import Bounds

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    _Pair = tuple["_Line", "_Line"]
    _Apart = Callable[[_Pair, float], float]

MIN_RADIUS_MM = 1.0
"""Least radius in mm; tighter curves count as this one."""

FARTHEST_MM = 1e7
"""Greatest distance of a place from the meeting, in mm."""

_STEPS = 120
_STRAIGHT = 1e-12
"""Curvatures and angles below this count as none."""


class Bend(NamedTuple):
    """A piece of a centre line, with the bounds of its curvature in 1/mm.

    A curvature is positive if the line curves away from the other line, negative if towards it.
    """

    length_mm: float
    """Infinite if it goes on without an end."""
    least: float = 0.0
    most: float = 0.0

    @property
    def known(self) -> bool:
        """True if its curvature is known."""
        return self.least == self.most


def curvature(radius_mm: float) -> float:
    """Return the curvature of a radius, in 1/mm."""
    return 1 / max(radius_mm, MIN_RADIUS_MM)


def reach(
    angle_degrees: float, lines: tuple[Sequence[Bend], Sequence[Bend]], apart_mm: float
) -> Bounds:
    """Return the bounds of the length from the meeting at which two lines are ``apart_mm`` apart.

    It is measured along each line. The larger bound is infinite if they may become parallel first,
    or may end before.
    """
    half = radians(angle_degrees) / 2
    away = _lines(half, lines, lambda bend: bend.most)
    if all(bend.known for line in lines for bend in line):
        soonest, reached = _first(away, _between, apart_mm, may_turn_back=True)
        return Bounds(min(soonest, FARTHEST_MM), soonest if reached else inf)
    towards = _lines(half, lines, lambda bend: bend.least)
    least: _Apart = _between
    most: _Apart = _between
    if any(bend.known and bend.most for line in lines for bend in line):
        # One line of a known curve may gain on the other, which widens both bounds.
        free = tuple(not all(bend.known for bend in line) for line in lines)
        least, most = _most_apart(towards, free), _across
    soonest, _ = _first(away, least, apart_mm, may_turn_back=True)
    # Beyond a right angle to the middle line, a line goes farther if it does not turn on.
    square = min(_until_square(half, line) for line in lines)
    latest, surely = _first(towards, most, apart_mm, may_turn_back=False)
    return Bounds(min(soonest, square, FARTHEST_MM), latest if surely else inf)


def _lines(
    half: float, lines: tuple[Sequence[Bend], Sequence[Bend]], chosen: Callable[[Bend], float]
) -> _Pair:
    one, other = ([(bend.length_mm, chosen(bend)) for bend in line] for line in lines)
    return _Line(half, one), _Line(half, other)


def _between(pair: _Pair, walked: float) -> float:
    """Return the distance between two lines, as far along each of them."""
    (x, y), (u, v) = (line.at(walked) for line in pair)
    return hypot(x - u, y + v)


def _across(pair: _Pair, walked: float) -> float:
    """Return the distance square to the middle line, which is never larger."""
    return sum(line.at(walked)[1] for line in pair)


def _most_apart(towards: _Pair, free: tuple[bool, ...]) -> _Apart:
    """Return the function of the most distance that two lines may have, if some are free to turn.

    A free line has gone at most as far along the middle line as it is long, and at least as far as
    if it turned all the way.
    """

    def apart(away: _Pair, walked: float) -> float:
        (least, most), (low, high) = (
            (min(line.at(walked)[0], other.at(walked)[0]), walked)
            if loose
            else (line.at(walked)[0],) * 2
            for line, other, loose in zip(away, towards, free, strict=True)
        )
        return hypot(max(most - low, high - least, 0.0), _across(away, walked))

    return apart


class _Line:
    """A centre line with known curvatures, seen from the line that halves the angle."""

    def __init__(self, heading: float, pieces: list[tuple[float, float]]) -> None:
        self.pieces = pieces
        self.starts = [0.0, *accumulate(length for length, _ in pieces)]
        self.spots = [(0.0, 0.0, heading)]
        for length, bend in pieces:
            if isfinite(length):
                self.spots.append(_onward(self.spots[-1], length, bend))

    @property
    def end(self) -> float:
        """Its length in mm."""
        return self.starts[-1]

    def at(self, walked: float) -> tuple[float, float]:
        """Return a point: along the line that halves the angle, and away from it."""
        number = self._piece(walked)
        return _onward(self.spots[number], walked - self.starts[number], self.pieces[number][1])[:2]

    def heading(self, walked: float) -> tuple[float, float]:
        """Return the heading away from the middle line, in radians, and the curvature there."""
        number = self._piece(walked)
        bend = self.pieces[number][1]
        return self.spots[number][2] + (walked - self.starts[number]) * bend, bend

    def _piece(self, walked: float) -> int:
        later = (n for n, start in enumerate(self.starts[1:-1], 1) if walked < start)
        return next(later, len(self.pieces)) - 1


def _onward(
    spot: tuple[float, float, float], length: float, bend: float
) -> tuple[float, float, float]:
    x, y, heading = spot
    turned = length * bend / 2
    chord = length * (sin(turned) / turned if abs(turned) > 1e-9 else 1.0)
    return (
        x + chord * cos(heading + turned),
        y + chord * sin(heading + turned),
        heading + 2 * turned,
    )


def _first(
    pair: _Pair, apart: _Apart, apart_mm: float, *, may_turn_back: bool
) -> tuple[float, bool]:
    """Return the length at which two lines reach a distance, and True.

    If they never do, the length is that at which they last part, with False. Without
    ``may_turn_back`` the search ends where the lines are parallel.
    """
    one, other = pair
    end = min(one.end, other.end)
    marks = sorted({0.0, *(s for line in pair for s in line.starts if s < end)})
    parted = 0.0
    for start, stop in zip(marks, [*marks[1:], end], strict=True):
        (heading, bend), (facing, turn) = one.heading(start), other.heading(start)
        angle, rate = heading + facing, bend + turn
        low, high = _while_parting(start, stop, angle, rate)
        if high > low:
            if isinf(high):
                high = low + _far_enough(angle, max(abs(bend), abs(turn)), rate, apart_mm)
            if apart(pair, high) >= apart_mm:
                return _bisected(lambda walked: apart(pair, walked) < apart_mm, low, high), True
            parted = high
        if not may_turn_back and angle + rate * (stop - start) < 0:
            break
    return parted, False


def _while_parting(start: float, stop: float, angle: float, rate: float) -> tuple[float, float]:
    """Return the part of a stretch on which the angle between the lines is positive."""
    if abs(rate) < _STRAIGHT:
        return (start, stop) if angle > _STRAIGHT else (start, start)
    parallel = start - angle / rate
    if rate > 0:
        return min(max(start, parallel), stop), stop
    return start, max(start, min(stop, parallel))


def _far_enough(angle: float, bend: float, rate: float, apart_mm: float) -> float:
    """Return the length of an endless stretch on which lines surely part as far as they will."""
    if bend < _STRAIGHT:
        return min(apart_mm / sin(min(angle, pi) / 2), FARTHEST_MM)
    return (pi - min(angle, pi)) / rate if rate > _STRAIGHT else pi / bend


def _bisected(too_near: Callable[[float], bool], low: float, high: float) -> float:
    for _ in range(_STEPS):
        middle = (low + high) / 2
        if not low < middle < high:
            break
        if too_near(middle):
            low = middle
        else:
            high = middle
    return high


def _until_square(half: float, line: Sequence[Bend]) -> float:
    """Return the length at which a line of unknown hand may head square to the middle line."""
    walked, heading = 0.0, half
    for bend in line:
        turned = pi / 2 - heading
        if not bend.known and bend.most > 0 and turned <= bend.length_mm * bend.most:
            return walked + max(0.0, turned) / bend.most
        walked += bend.length_mm
        if isfinite(bend.length_mm):
            heading += bend.length_mm * bend.most
    return inf
