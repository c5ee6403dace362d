"""Heights of lanes, as close together as their items allow.

Before the places from left to right are known, each lane has room for its highest item along its
whole length. Afterwards a lane needs that room only if two items face each other.
"""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.drawing.drawn_places import DrawnPlaces
    from trappoint.drawing.graph import Graph
    from trappoint.drawing.lanes import Lanes

AIR, BESIDE, RAIL, PITCH = 5.0, 6.0, 4.0, 28.0
"""In drawing units: the room between an item and the one above it; the horizontal distance from
which two items do not affect each other; half the room of a rail; the least distance of lanes."""

Needs = dict[tuple[int, int], float]
"""From two lanes (upper, lower) to their least distance, in drawing units."""


class _Reach(NamedTuple):
    left: float
    right: float
    above: float
    below: float


def heights_for(needs: Needs, count: int) -> list[float]:
    """Return the least height of each lane, from the top."""
    heights = [0.0] * count
    into: list[list[tuple[int, float]]] = [[] for _ in range(count)]
    for (upper, lower), need in needs.items():
        into[lower].append((upper, need))
    for lane in range(1, count):
        wanted = [heights[upper] + need for upper, need in into[lane]]
        heights[lane] = round(max([heights[lane - 1] + PITCH, *wanted]), 2)
    return heights


def find_needs(graph: Graph, lanes: Lanes, places: DrawnPlaces, needs: Needs) -> None:
    """Raise the distances of lanes to those that their items need now; none becomes smaller."""
    rows: dict[int, list[_Reach]] = {}
    for lane, reach in _reaches(graph, lanes, places):
        rows.setdefault(lane, []).append(reach)
    up = {lane: sorted(own, key=lambda one: -one.above) for lane, own in rows.items()}
    down = {lane: sorted(own, key=lambda one: -one.below) for lane, own in rows.items()}
    above = {lane: own[0].above for lane, own in up.items()}
    below = {lane: own[0].below for lane, own in down.items()}
    for upper in rows:
        for lower in rows:
            # Lanes are at least their pitch apart in any case.
            if lower > upper and below[upper] + above[lower] + AIR > PITCH * (lower - upper):
                need = _need(down[upper], up[lower])
                if need:
                    need = round(need + AIR, 2)
                    needs[upper, lower] = max(need, needs.get((upper, lower), 0.0))


def _need(over: list[_Reach], under: list[_Reach]) -> float:
    """Return the least distance of two lanes, 0 if nothing of one faces the other.

    ``over`` begins with what reaches farthest down, ``under`` with what reaches farthest up.
    """
    need, most = 0.0, under[0].above
    for one in over:
        if one.below + most <= need:
            break
        left, right = one.left - BESIDE, one.right + BESIDE
        for other in under:
            if one.below + other.above <= need:
                break
            if other.left < right and left < other.right:
                need = one.below + other.above
                break
    return need


def _reaches(graph: Graph, lanes: Lanes, places: DrawnPlaces) -> Iterator[tuple[int, _Reach]]:
    """Yield each lane with the extent of each item or rail in it."""
    for piece, content in enumerate(places.contents):
        for item in content.above:
            yield (
                round(lanes.of_piece[piece]),
                _Reach(item.x, item.x + item.width, item.height, RAIL),
            )
        for item in content.below:
            yield (
                round(lanes.of_piece[piece]),
                _Reach(item.x, item.x + item.width, RAIL, item.height),
            )
    for own in graph.pieces:
        left, right = places.x[own.left], places.x[own.right]
        if lanes.slanting[own.index]:
            ends = (lanes.of_node[own.left], lanes.of_node[own.right])
            yield from _rail(min(ends), max(ends), left, right)
            continue
        lane = lanes.of_piece[own.index]
        yield from _rail(lane, lane, left, right)
        for node, way in ((own.left, 1), (own.right, -1)):
            if graph.nodes[node].kind != "bend":
                wide = places.runs[own.index, node] * way
                ends = (lane, lanes.of_node[node])
                x = places.x[node]
                yield from _rail(min(ends), max(ends), min(x, x + wide), max(x, x + wide))
            else:
                ends = lanes.extent(node)
                x = places.x[node]
                yield from _rail(min(ends), max(ends), x - 10, x + 10)
    yield from _nodes(graph, lanes, places)


def _rail(top: float, bottom: float, left: float, right: float) -> Iterator[tuple[int, _Reach]]:
    for lane in range(int(top), ceil(bottom) + 1):
        yield lane, _Reach(left, right, RAIL, RAIL)


def _nodes(graph: Graph, lanes: Lanes, places: DrawnPlaces) -> Iterator[tuple[int, _Reach]]:
    for node in graph.nodes:
        lane, x = lanes.of_node[node.index], places.x[node.index]
        label = places.labels[node.index]
        low, high = int(lane), ceil(lane)
        if label is not None and low == high:
            yield (
                low,
                _Reach(
                    x + label.left,
                    x + label.left + label.width,
                    max(-label.top, RAIL),
                    max(label.top + label.height, RAIL),
                ),
            )
        if node.kind == "buffer":
            yield low, _Reach(x - 6, x + 6, 8, 8)
        radius = places.radii.get(node.index)
        if radius:
            for own in {low, high}:
                yield own, _Reach(x - radius, x + radius, radius, radius)
