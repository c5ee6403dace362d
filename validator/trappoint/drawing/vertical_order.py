"""The order of the pieces from top to bottom, with as few crossings as the search finds.

The search counts the places at which the drawing crosses tracks that the plan does not. It makes
many sweeps (``sweep``) from both sides with fixed random seeds and keeps the best. It ends at the
first without crossings, or when many have the same number of them. The result does not depend on
the ids of the plan.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random
from typing import TYPE_CHECKING

from trappoint.drawing.hints import against
from trappoint.drawing.left_to_right import FAR, aligned, guess
from trappoint.drawing.oval_cuts import open_bend
from trappoint.drawing.sweep import Event, GuidedSweep, Sweep, reversed_events, ways_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.drawing.graph import Graph
    from trappoint.drawing.hints import Hint, Hints
    from trappoint.drawing.memory import Recalled

SWEEPS = 16_000
"""The number of sweeps for a connected part, times the number of its nodes."""

ENOUGH = 20
"""The number of sweeps with the same fewest crossings that ends the search."""

ENDLESS = 10**9
"""A number of crossings that no sweep reaches."""


@dataclass(slots=True)
class DrawingOrder:
    """The parts of a drawing from top to bottom, each passed from left to right."""

    parts: list[ConnectedPart] = field(default_factory=list)

    @property
    def crossings(self) -> int:
        """The number of places at which the drawing crosses tracks that the plan does not."""
        return sum(part.crossings for part in self.parts)


@dataclass(slots=True)
class ConnectedPart:
    """One connected part."""

    sequence: list[int]
    """Its nodes, in an order in which a line from left to right can pass them."""
    states: list[list[int]]
    """After each node, the pieces on the line from top to bottom."""
    crossings: int


Known = dict[tuple[object, ...], list[Event]]
"""The best sweeps that were found before, of parts with the same pieces in other drawings."""


def order_pieces(
    graph: Graph, widths: list[float], hints: Hints, known: Known, recalled: Recalled | None
) -> DrawingOrder:
    """Return the order of all pieces. Adds a ``bridge`` to the graph for each crossing.

    ``widths`` estimates the width of each piece. The order that is ``recalled`` stays, unless it
    has more crossings than it had before. Else the search takes one of those with the fewest
    crossings that it finds, and of these the one that breaks the fewest ``hints``. It skips parts
    in ``known``, and adds the others to it.
    """
    found = _found(graph, widths, hints, known, recalled)
    x = guess(graph, widths, hints.orders) if recalled is None else _spots(graph, recalled)
    steps = [aligned(graph, events, x) for events in found]
    parts = [_settle(graph, events) for events in steps]
    if recalled is not None:
        lanes = dict(enumerate(recalled.lanes))
        parts = _stacked(parts, lanes)
    return DrawingOrder(_stacked(parts, hints.lanes))


def _found(
    graph: Graph, widths: list[float], hints: Hints, known: Known, recalled: Recalled | None
) -> list[list[Event]]:
    """Return a sweep over each part: the order that is recalled, or what the search finds."""
    parts = _parts(graph)
    before: list[list[Event]] = [[] for _ in parts]
    if recalled is not None and not hints.lanes:
        before = [_recalled(graph, part, recalled) for part in parts]
        if sum(map(_crossings, before)) <= len(recalled.memory.bridges):
            return before
    return [
        _search(graph, part, widths, hints, known, old)
        for part, old in zip(parts, before, strict=True)
    ]


def _stacked(
    parts: list[ConnectedPart], lanes: Mapping[int, Hint] | Mapping[int, float]
) -> list[ConnectedPart]:
    """Sort the parts that have lanes by these; leave the other parts in their places."""
    wished = []
    for number, part in enumerate(parts):
        own = [lanes[p] for state in part.states for p in state if p in lanes]
        if own:
            wished.append((min(own), number))
    stacked = list(parts)
    for (_, place), (_, number) in zip(
        sorted(wished, key=lambda w: w[1]), sorted(wished), strict=True
    ):
        stacked[place] = parts[number]
    return stacked


def _close_bend(graph: Graph, bend: int, kept: tuple[list[int], list[int]]) -> None:
    node = graph.nodes[bend]
    graph.nodes.pop()
    node.ins, node.outs = kept
    node.kind, node.fixed = "bend", False
    for piece in node.ins:
        graph.pieces[piece].right = bend
    for piece in node.outs:
        graph.pieces[piece].left = bend
    node.id = graph.pieces[(node.ins or node.outs)[0]].track


def _parts(graph: Graph) -> list[list[int]]:
    """Return the connected parts, the nodes of each in the order of the plan."""
    seen: set[int] = set()
    parts = []
    for root in range(len(graph.nodes)):
        if root in seen:
            continue
        seen.add(root)
        part, stack = [], [root]
        while stack:
            node = stack.pop()
            part.append(node)
            near = [graph.pieces[p].left for p in graph.nodes[node].ins]
            near += [graph.pieces[p].right for p in graph.nodes[node].outs]
            for other in near:
                if other not in seen:
                    seen.add(other)
                    stack.append(other)
        parts.append(sorted(part))
    return parts


def _crossings(events: list[Event]) -> int:
    return sum(event.node < 0 for event in events)


def _recalled(graph: Graph, part: list[int], recalled: Recalled) -> list[Event]:
    guided = GuidedSweep(graph, part, recalled)
    guided.follow()
    return guided.events


def _search(
    graph: Graph,
    part: list[int],
    widths: list[float],
    hints: Hints,
    known: Known,
    recalled: list[Event],
) -> list[Event]:
    """Return the best sweep of a part, with return bends cut open if that saves crossings.

    It is the one that is ``recalled`` (if there is any) if the search finds none that is better.
    """
    if recalled and not _crossings(recalled):
        return recalled
    events = _remembered(graph, part, widths, hints, known)
    if recalled and _crossings(recalled) <= _crossings(events):
        events = recalled
    bends = [n for n in part if graph.nodes[n].kind == "bend"]
    while bends and _crossings(events):
        bend = bends.pop(0)
        before = len(graph.nodes)
        kept = (list(graph.nodes[bend].ins), list(graph.nodes[bend].outs))
        open_bend(graph, bend)
        tried = _remembered(graph, [*part, before], widths, hints, known)
        if _crossings(tried) < _crossings(events):
            events, part = tried, [*part, before]
        else:
            _close_bend(graph, bend, kept)
    return events


def _spots(graph: Graph, recalled: Recalled) -> list[float]:
    """Return the recalled place of each node; lines that leave the plan run to its border."""
    spots = [*recalled.places, *[0.0] * (len(graph.nodes) - len(recalled.places))]
    for node in graph.nodes:
        if node.kind == "edge":
            spots[node.index] = FAR if node.ins else -FAR
    return spots


def _remembered(
    graph: Graph,
    part: list[int],
    widths: list[float],
    hints: Hints,
    known: Known,
) -> list[Event]:
    """Return the best sweep, with the numbers of nodes and pieces that this graph has."""
    if hints.lanes:
        return _best(graph, part, widths, hints)
    pieces = sorted(piece for node in part for piece in graph.nodes[node].outs)
    nodes = {-1: -1, **{node: number for number, node in enumerate(part)}}
    of_piece = {piece: number for number, piece in enumerate(pieces)}
    key = (
        *((graph.nodes[n].kind, *(of_piece[p] for p in graph.nodes[n].ins), -1,
           *(of_piece[p] for p in graph.nodes[n].outs), graph.nodes[n].fixed) for n in part),
        *((graph.pieces[p].left_leg, graph.pieces[p].right_leg) for p in pieces),
    )  # fmt: skip
    if key not in known:
        known[key] = _renumbered(_best(graph, part, widths, hints), nodes, of_piece)
    back = {number: node for node, number in nodes.items()}
    return _renumbered(known[key], back, dict(enumerate(pieces)))


def _renumbered(events: list[Event], nodes: dict[int, int], pieces: dict[int, int]) -> list[Event]:
    return [
        Event(
            nodes[event.node],
            event.at,
            tuple(pieces[piece] for piece in event.out),
            tuple(pieces[piece] for piece in event.into),
        )
        for event in events
    ]


def _best(graph: Graph, part: list[int], widths: list[float], hints: Hints) -> list[Event]:
    views = [ways_of(graph, from_right=side) for side in (False, True)]
    x = guess(graph, widths, hints.orders) if hints.lanes else []
    best: list[Event] = []
    fewest, least, times = ENDLESS, 0, 0
    for number in range(max(20, min(400, SWEEPS // len(part)))):
        from_right = number % 2 == 1
        rng = Random(number) if number >= 2 else None  # noqa: S311 - repeatable on purpose
        sweep = Sweep(graph, views[from_right], part, rng)
        if not sweep.run(fewest):
            continue
        times = times + 1 if sweep.crossings == fewest else 1
        if sweep.crossings < fewest or least:
            events = reversed_events(sweep.events) if from_right else sweep.events
            wrong = 0
            if hints.lanes:
                wrong = against(hints.lanes, _states(aligned(graph, events, x)))
            if not best or (sweep.crossings, wrong) < (fewest, least):
                best, fewest, least = events, sweep.crossings, wrong
        if least == 0 and (fewest == 0 or times == ENOUGH):
            break
    return best


def _states(events: list[Event]) -> Iterator[list[int]]:
    """Yield the pieces on the line after each step."""
    live: list[int] = []
    for event in events:
        live[event.at : event.at + len(event.out)] = event.into
        yield live


def _settle(graph: Graph, events: list[Event]) -> ConnectedPart:
    """Replay a sweep, with a bridge for each crossing; the pieces beyond a bridge are new."""
    now: dict[int, int] = {}
    live: list[int] = []
    part = ConnectedPart([], [], _crossings(events))
    for event in events:
        out = [now.get(piece, piece) for piece in event.out]
        if event.node < 0:
            into = _bridge(graph, out)
            now[event.out[0]], now[event.out[1]] = into[1], into[0]
            node = len(graph.nodes) - 1
        else:
            node, into = event.node, list(event.into)
            graph.nodes[node].ins = out
            graph.nodes[node].outs = list(into)
        live[event.at : event.at + len(out)] = into
        part.sequence.append(node)
        part.states.append(list(live))
    return part


def _bridge(graph: Graph, pair: list[int]) -> list[int]:
    bridge = graph.node("bridge")
    beyond = []
    for index in pair:
        piece = graph.pieces[index]
        rest = graph.piece(piece.track, bridge.index, piece.right, ("", piece.right_leg))
        rest.turned, rest.part = piece.turned, piece.part + 1
        middle = (piece.start + piece.stop) / 2
        rest.start, rest.stop, piece.stop = middle, piece.stop, middle
        piece.right, piece.right_leg = bridge.index, ""
        bridge.ins.append(index)
        beyond.append(rest.index)
    bridge.outs = beyond[::-1]
    return list(bridge.outs)
