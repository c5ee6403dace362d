"""The lines of a drawing: the course of each piece, and tests for overlaps."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.drawing.drawn_places import DrawnPlaces
    from trappoint.drawing.graph import Graph

Point = tuple[float, float]


class Box(NamedTuple):
    """A rectangle that a text, a signal or a platform takes."""

    left: float
    top: float
    right: float
    bottom: float
    what: str = ""

    def overlaps(self, other: Box, by: float = 0.01) -> bool:
        """Return whether two boxes have more than an edge in common."""
        return (
            self.left < other.right - by
            and other.left < self.right - by
            and self.top < other.bottom - by
            and other.top < self.bottom - by
        )


def lines_of(graph: Graph, places: DrawnPlaces, slanting: list[bool]) -> list[list[Point]]:
    """Return the line of each piece, from its left end to its right end."""
    lines = []
    for piece in graph.pieces:
        start = _end(graph, places, piece.left, piece.index)
        stop = _end(graph, places, piece.right, piece.index)
        if slanting[piece.index]:
            lines.append([start, stop])
            continue
        rail = places.rails[piece.index]
        line = [start]
        for way, node, (x, y) in ((1, piece.left, start), (-1, piece.right, stop)):
            if abs(y - rail) > 0.01:
                line.append((round(x + way * places.runs[piece.index, node], 2), rail))
        line.append(stop)
        lines.append(line)
    return lines


def _end(graph: Graph, places: DrawnPlaces, node: int, piece: int) -> Point:
    if graph.nodes[node].kind == "bend":
        return places.x[node], places.rails[piece]
    return places.x[node], places.y[node]


def along(line: list[Point], distance: float) -> Point:
    """Return the point of a line at this distance from its first point."""
    for (x1, y1), (x2, y2) in pairwise(line):
        length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
        if distance <= length and length:
            share = distance / length
            return x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
        distance -= length
    return line[-1]


def without_start(line: list[Point], distance: float) -> list[Point]:
    """Return a line without its first few units."""
    rest = list(line)
    while len(rest) > 2:
        (x1, y1), (x2, y2) = rest[0], rest[1]
        length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
        if length > distance:
            break
        distance -= length
        del rest[0]
    rest[0] = along(rest, distance)
    return rest


def only_start(line: list[Point], distance: float) -> list[Point]:
    """Return the first few units of a line."""
    kept = [line[0]]
    for (x1, y1), (x2, y2) in pairwise(line):
        length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
        if length >= distance:
            kept.append(along([(x1, y1), (x2, y2)], distance))
            return kept
        kept.append((x2, y2))
        distance -= length
    return kept


def crossed(
    graph: Graph, lines: list[list[Point]], among: list[int] | None = None
) -> Iterator[tuple[int, int]]:
    """Yield each pair of pieces that overlap anywhere but at a common end.

    ``among`` limits them to pairs with one of these pieces (default: all).

    A finished drawing has none: tracks cross at crossings and bridges only.
    """
    ends = [frozenset((piece.left, piece.right)) for piece in graph.pieces]
    spans = [(min(x for x, _ in line), max(x for x, _ in line)) for line in lines]
    first = set(range(len(lines)) if among is None else among)
    for one in sorted(first):
        for other in range(len(lines)):
            if other == one or (other < one and other in first):
                continue
            if spans[one][1] < spans[other][0] or spans[other][1] < spans[one][0]:
                continue
            shared = ends[one] & ends[other]
            spots = [_node_spot(graph, lines, one, node) for node in shared]
            if _meet(lines[one], lines[other], spots):
                yield one, other


def _node_spot(graph: Graph, lines: list[list[Point]], piece: int, node: int) -> Point:
    return lines[piece][0] if graph.pieces[piece].left == node else lines[piece][-1]


def _meet(one: list[Point], other: list[Point], allowed: list[Point]) -> bool:
    for a, b in pairwise(one):
        for c, d in pairwise(other):
            if any(spot in (a, b) and spot in (c, d) for spot in allowed):
                if _same_way(a, b, c, d, allowed):
                    return True
            elif segments_meet(a, b, c, d):
                return True
    return False


def _same_way(a: Point, b: Point, c: Point, d: Point, allowed: list[Point]) -> bool:
    """Return whether two segments from one point go the same way."""
    for spot in allowed:
        if spot in (a, b) and spot in (c, d):
            p = b if spot == a else a
            q = d if spot == c else c
            u, v = (p[0] - spot[0], p[1] - spot[1]), (q[0] - spot[0], q[1] - spot[1])
            if abs(u[0] * v[1] - u[1] * v[0]) < 1e-6 and u[0] * v[0] + u[1] * v[1] > 0:
                return True
    return False


def segments_meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Return whether two segments have a point in common."""
    if _apart(a[0], b[0], c[0], d[0]) or _apart(a[1], b[1], c[1], d[1]):
        return False  # nearly all pairs end here

    def turn(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    def within(p: Point, q: Point, r: Point) -> bool:
        return (
            min(p[0], q[0]) - 1e-6 <= r[0] <= max(p[0], q[0]) + 1e-6
            and min(p[1], q[1]) - 1e-6 <= r[1] <= max(p[1], q[1]) + 1e-6
        )

    t1, t2, t3, t4 = turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b)
    if (t1 > 1e-6) != (t2 > 1e-6) and (t3 > 1e-6) != (t4 > 1e-6) and t1 * t2 < 0 and t3 * t4 < 0:
        return True
    return any(
        abs(t) <= 1e-6 and within(*pqr)
        for t, pqr in ((t1, (a, b, c)), (t2, (a, b, d)), (t3, (c, d, a)), (t4, (c, d, b)))
    )


def _apart(a: float, b: float, c: float, d: float) -> bool:
    """Return whether the stretches from ``a`` to ``b`` and from ``c`` to ``d`` have a gap."""
    if a > b:
        a, b = b, a
    if c > d:
        c, d = d, c
    return d < a - 1e-6 or b < c - 1e-6


def box_meets_line(box: Box, line: list[Point]) -> bool:
    """Return whether a line that runs to the right goes through a box."""
    left, top, right, bottom = box.left, box.top, box.right, box.bottom
    if line[-1][0] < left or line[0][0] > right:
        return False  # lines run to the right
    for (x1, y1), (x2, y2) in pairwise(line):
        if x2 < left or x1 > right or min(y1, y2) > bottom or max(y1, y2) < top:
            continue
        if y1 == y2 or x1 == x2:
            return True
        # The heights of the segment where it enters and where it leaves the box's width.
        rise = (y2 - y1) / (x2 - x1)
        one = y1 + max(left - x1, 0) * rise
        other = y2 - max(x2 - right, 0) * rise
        if min(one, other) <= bottom + 1e-6 and max(one, other) >= top - 1e-6:
            return True
    return False
