"""What the author of a plan would have drawn otherwise: hints, followed as far as they can be.

Tracks with the same ``lane`` are drawn on one level, others as many lanes apart as their numbers
are; elements stand from left to right in their ``order``. A hint never brings two things over each
other, makes tracks cross, or turns a leg to the wrong hand: it is let go instead, and that is said.
"""

from __future__ import annotations

from itertools import combinations, pairwise
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import Finding, pointer_to

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from trappoint.drawing.graph import Graph
    from trappoint.drawing.sketch import Sketch
    from trappoint.drawing.solving import PlacementProblem
    from trappoint.model.layout import Crossing, Layout, Points, Turntable

RULE = "hint-not-followed"

FARTHEST = 9
"""How many lanes two neighbouring numbers may be apart: nobody wants more empty paper."""

AFTER = 12.0
"""How much further to the right what is next in order stands."""


class Hint(NamedTuple):
    """A number that the plan gives to a thing."""

    board: str
    """The board on which the thing is: the numbers of two boards have nothing to do with each
    other."""
    number: int


class Hints(NamedTuple):
    """All hints of a plan."""

    lanes: dict[int, Hint]
    """Of pieces."""
    orders: dict[int, Hint]
    """Of nodes."""


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
    """Leave no more than so many lanes between two neighbouring numbers."""
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
    """Count the pairs of pieces of which one is above the other and should be below."""
    wrong: set[tuple[int, int]] = set()
    for state in states:
        hinted = [piece for piece in state if piece in lanes]
        wrong.update(pair for pair in combinations(hinted, 2) if _is_wrong(lanes, *pair))
    return len(wrong)


def _is_wrong(lanes: dict[int, Hint], upper: int, lower: int) -> bool:
    one, other = lanes[upper], lanes[lower]
    return one.board == other.board and one.number > other.number


def in_order(orders: dict[int, Hint]) -> list[tuple[int, int]]:
    """Return pairs of nodes of which the second is to stand to the right of the first."""
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
    """Ask that nodes stand in their order, but for what would contradict all the rest."""
    onward: dict[int, list[int]] = {}
    for lower, upper in problem.apart:
        onward.setdefault(lower, []).append(upper)
    for left, right in in_order(orders):
        if not _leads(onward, right, left):
            problem.at_least(left, right, AFTER)
            onward.setdefault(left, []).append(right)


def _leads(onward: dict[int, list[int]], start: int, goal: int) -> bool:
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
                f"Track {track} is not drawn in lane {layout.tracks[track].lane}: it would lie over"
                " another track, or legs would be on the wrong hand.",
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


def _strays(lanes: dict[int, Hint], base: Callable[[int, Hint], float]) -> list[int]:
    """Return the pieces that are not where most others on their board say that they should be."""
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
        why="A hint changes how a plan is drawn, not what is true of it.",
        fix="Take the hint out, or give another number.",
        path=(name,),
    )
