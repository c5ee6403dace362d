"""Steps of a sweep put into the order in which they will stand from left to right.

A sweep goes on wherever it can, so that it may have come far at the top before it begins at the
bottom. What is side by side on its way then need not be so on paper, and would take lanes that
nothing needs. Steps that have nothing to do with each other change places here: what is above what
stays as it is, and no crossing is added.
"""

from __future__ import annotations

from graphlib import TopologicalSorter
from typing import TYPE_CHECKING

from trappoint.drawing.hints import AFTER, in_order
from trappoint.drawing.sweeping import Event

if TYPE_CHECKING:
    from trappoint.drawing.graph import Graph
    from trappoint.drawing.hints import Hint

ROUNDS, FAR = 3, 1e9


def aligned(
    graph: Graph, events: list[Event], widths: list[float], orders: dict[int, Hint]
) -> list[Event]:
    """Return the steps from left to right, as near as can be told from the widths of pieces."""
    x = _guess(graph, widths, orders)

    def key(event: Event) -> float:
        if event.node >= 0:
            return x[event.node]
        ends = [x[end] for p in event.out for end in (graph.pieces[p].left, graph.pieces[p].right)]
        return sum(ends) / len(ends)

    steps = [(key(event), event) for event in events]
    moved = True
    while moved:
        moved = False
        for number in range(len(steps) - 1):
            (left, one), (right, other) = steps[number], steps[number + 1]
            if right < left:
                swapped = _swapped(one, other)
                if swapped is not None:
                    steps[number : number + 2] = [(right, swapped[0]), (left, swapped[1])]
                    moved = True
    return [event for _, event in steps]


def _swapped(one: Event, other: Event) -> tuple[Event, Event] | None:
    """Return two steps the other way round; None if the second needs the first."""
    if other.at + len(other.out) <= one.at:
        return other, one._replace(at=one.at + len(other.into) - len(other.out))
    if other.at >= one.at + len(one.into):
        return other._replace(at=other.at - len(one.into) + len(one.out)), one
    return None


def _guess(graph: Graph, widths: list[float], orders: dict[int, Hint]) -> list[float]:
    """Guess where each node will stand from left to right."""
    before: dict[int, list[int]] = {node.index: [] for node in graph.nodes}
    for piece in graph.pieces:
        before[piece.right].append(piece.left)
    order = list(TopologicalSorter(before).static_order())
    x = [0.0] * len(graph.nodes)
    for node in order:
        ins = graph.nodes[node].ins
        x[node] = max((x[graph.pieces[p].left] + widths[p] for p in ins), default=0.0)
    for _ in range(ROUNDS):
        # Where more goes on to the right than comes from the left, short is to the right.
        for node in reversed(order):
            own = graph.nodes[node]
            if len(own.outs) > len(own.ins):
                x[node] = min(x[graph.pieces[p].right] - widths[p] for p in own.outs)
        for node in order:
            own = graph.nodes[node]
            if own.ins and len(own.ins) >= len(own.outs):
                x[node] = max(x[graph.pieces[p].left] + widths[p] for p in own.ins)
    for left, right in in_order(orders):
        x[right] = max(x[right], x[left] + AFTER)
        for node in order:
            ins = graph.nodes[node].ins
            x[node] = max([x[node], *(x[graph.pieces[p].left] + widths[p] for p in ins)])
    # Lines that leave the plan go on to its border.
    for own in graph.nodes:
        if own.kind == "edge":
            x[own.index] = FAR if own.ins else -FAR
    return x
