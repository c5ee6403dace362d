"""The steps of a sweep, sorted by their places from left to right on paper.

A sweep may finish the top of a plan before it begins the bottom. Pieces that are side by side
during the sweep may then be far apart on paper, and would take lanes for nothing. This module
swaps neighbouring steps that are independent of each other (a bubble sort by estimated place). The
order from top to bottom stays, and no crossing is added.
"""

from __future__ import annotations

from graphlib import TopologicalSorter
from typing import TYPE_CHECKING

from trappoint.drawing.hints import AFTER, in_order
from trappoint.drawing.sweep import Event

if TYPE_CHECKING:
    from trappoint.drawing.graph import Graph
    from trappoint.drawing.hints import Hint

ROUNDS, FAR = 3, 1e9


def aligned(graph: Graph, events: list[Event], x: list[float]) -> list[Event]:
    """Return the steps from left to right, by the estimated place of each node."""

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
    """Return two steps in reverse order; None if the second needs the first."""
    if other.at + len(other.out) <= one.at:
        return other, one._replace(at=one.at + len(other.into) - len(other.out))
    if other.at >= one.at + len(one.into):
        return other._replace(at=other.at - len(one.into) + len(one.out)), one
    return None


def guess(graph: Graph, widths: list[float], orders: dict[int, Hint]) -> list[float]:
    """Estimate the place of each node from left to right, from the widths of pieces."""
    before: dict[int, list[int]] = {node.index: [] for node in graph.nodes}
    for piece in graph.pieces:
        before[piece.right].append(piece.left)
    order = list(TopologicalSorter(before).static_order())
    x = [0.0] * len(graph.nodes)
    for node in order:
        ins = graph.nodes[node].ins
        x[node] = max((x[graph.pieces[p].left] + widths[p] for p in ins), default=0.0)
    for _ in range(ROUNDS):
        # A node with more pieces on the right moves right, so that those become short.
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
    # Lines that leave the plan run to its border.
    for own in graph.nodes:
        if own.kind == "edge":
            x[own.index] = FAR if own.ins else -FAR
    return x
