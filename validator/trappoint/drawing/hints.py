"""Hints of a plan's author for the diagram (``draw`` in the plan).

Tracks with the same ``lane`` are drawn on one level. The difference of two lane numbers is the
number of lanes between the tracks. Elements are drawn from left to right by their ``order``. The
drawing ignores a hint that would put two things over each other, make tracks cross, or turn a leg
to the wrong hand; a finding reports each hint that it ignores.
"""

from __future__ import annotations

from itertools import combinations, pairwise
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import Finding, pointer_to
from trappoint.model.names import Names

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from trappoint.drawing.graph import Graph
    from trappoint.drawing.placement_problem import PlacementProblem
    from trappoint.drawing.sketch import Sketch
    from trappoint.model.layout import Crossing, Layout, Points, Turntable

RULE = "hint-not-followed"

FARTHEST = 9
"""The greatest distance of two neighbouring tracks, in lanes: more is only empty paper."""

AFTER = 12.0
"""The least distance from one element in the order to the next, in units of the drawing."""


class Hint(NamedTuple):
    """A number that the plan gives to a thing."""

    board: str
    """The board of the thing. Numbers are compared within one board only."""
    number: int


class Hints(NamedTuple):
    """All hints of a plan."""

    lanes: dict[int, Hint]
    """From the index of a piece to its hint."""
    orders: dict[int, Hint]
    """From the index of a node to its hint."""


def find_hints(graph: Graph, layout: Layout) -> Hints:
    """Find the hints of a plan."""
    lanes: dict[int, Hint] = {}
    seen: set[str] = set()
    for piece in graph.pieces:
        lane = layout.tracks[piece.track].lane
        if lane is not None and piece.track not in seen:
            lanes[piece.index] = Hint(_board(piece.track), lane)
        seen.add(piece.track)
    orders: dict[int, Hint] = {}
    things: dict[str, Mapping[str, Points | Crossing | Turntable]] = {
        "points": layout.points,
        "crossings": layout.crossings,
        "turntables": layout.turntables,
    }
    for node in graph.nodes:
        if node.kind in things:
            order = things[node.kind][node.id].order
            if order is not None:
                orders[node.index] = Hint(_board(node.id), order)
    return Hints(_closer(lanes), orders)


def has_hints(layout: Layout) -> bool:
    """Return whether a plan has any hint."""
    numbers = [
        *(track.lane for track in layout.tracks.values()),
        *(points.order for points in layout.points.values()),
        *(crossing.order for crossing in layout.crossings.values()),
        *(table.order for table in layout.turntables.values()),
    ]
    return any(number is not None for number in numbers)


def _board(name: str) -> str:
    return name.rpartition("/")[0]


def _closer(lanes: dict[int, Hint]) -> dict[int, Hint]:
    """Return the hints with neighbouring numbers at most ``FARTHEST`` apart, from 0 upwards."""
    found: dict[Hint, Hint] = {}
    last: Hint | None = None
    for hint in sorted(set(lanes.values())):
        if last is None or last.board != hint.board:
            found[hint] = Hint(hint.board, 0)
        else:
            step = min(hint.number - last.number, FARTHEST)
            found[hint] = Hint(hint.board, found[last].number + step)
        last = hint
    return {piece: found[hint] for piece, hint in lanes.items()}


def against(lanes: dict[int, Hint], states: Iterable[Sequence[int]]) -> int:
    """Count the pairs of pieces that are drawn in the wrong order from top to bottom."""
    wrong: set[tuple[int, int]] = set()
    for state in states:
        hinted = [piece for piece in state if piece in lanes]
        wrong.update(pair for pair in combinations(hinted, 2) if _is_wrong(lanes, *pair))
    return len(wrong)


def _is_wrong(lanes: dict[int, Hint], upper: int, lower: int) -> bool:
    one, other = lanes[upper], lanes[lower]
    return one.board == other.board and one.number > other.number


def in_order(orders: dict[int, Hint]) -> list[tuple[int, int]]:
    """Return pairs of nodes; the hints ask for the second to the right of the first."""
    steps: dict[str, dict[int, list[int]]] = {}
    for node, hint in orders.items():
        steps.setdefault(hint.board, {}).setdefault(hint.number, []).append(node)
    pairs = []
    for of in steps.values():
        numbers = sorted(of)
        for one, other in pairwise(numbers):
            pairs += [(left, right) for left in of[one] for right in of[other]]
    return pairs


def ask_for_order(problem: PlacementProblem, orders: dict[int, Hint]) -> None:
    """Add the order of nodes to the problem, without wishes that contradict the rest."""
    onward: dict[int, list[int]] = {}
    for lower, upper in problem.apart:
        onward.setdefault(lower, []).append(upper)
    for left, right in in_order(orders):
        if not leads(onward, right, left):
            problem.at_least(left, right, AFTER)
            onward.setdefault(left, []).append(right)


def leads(onward: dict[int, list[int]], start: int, goal: int) -> bool:
    """Return whether a way through ``onward`` leads from ``start`` to ``goal``."""
    seen, stack = {start}, [start]
    while stack:
        node = stack.pop()
        if node == goal:
            return True
        fresh = [each for each in onward.get(node, ()) if each not in seen]
        seen.update(fresh)
        stack += fresh
    return False


def unfollowed(drawing: Sketch, hints: Hints) -> list[Finding]:
    """Return a finding for each hint that was not followed, in the order of the plan."""
    graph, layout = drawing.graph, drawing.layout
    lane = drawing.lanes.of_piece
    found = []
    for piece in _strays(hints.lanes, lambda index, hint: lane[index] - hint.number):
        track = graph.pieces[piece].track
        found.append(
            _finding(
                ("tracks", track, "draw", "lane"),
                f"{_subject(layout, track)} is not drawn in lane {layout.tracks[track].lane}: it"
                " would cover another track, or put legs on the wrong hand.",
                track,
            )
        )
    x = drawing.places.x
    late = {right: left for left, right in in_order(hints.orders) if x[right] <= x[left]}
    for node, left in late.items():
        own, other = graph.nodes[node], graph.nodes[left]
        found.append(
            _finding(
                (own.kind, own.id, "draw", "order"),
                f"{own.id} cannot be drawn to the right of {other.id}.",
                own.id,
            )
        )
    return found


def _subject(layout: Layout, track: str) -> str:
    called = Names(layout).called("tracks", track)
    return f"Track {track}" if called == track else called


def _strays(lanes: dict[int, Hint], base: Callable[[int, Hint], float]) -> list[int]:
    """Return the pieces that do not fit the position of most hinted pieces on their board."""
    bases: dict[str, list[float]] = {}
    for piece, hint in lanes.items():
        bases.setdefault(hint.board, []).append(base(piece, hint))
    usual = {board: max(found, key=found.count) for board, found in bases.items()}
    return [p for p, hint in lanes.items() if abs(base(p, hint) - usual[hint.board]) > 0.01]


def _finding(place: tuple[str, ...], message: str, name: str) -> Finding:
    return Finding(
        rule=RULE,
        level="note",
        pointer=pointer_to(*place),
        message=message,
        why="A hint changes only the drawing. The drawing never covers tracks to follow a hint.",
        fix="Remove the hint, or give it another number.",
        path=(name,),
    )
