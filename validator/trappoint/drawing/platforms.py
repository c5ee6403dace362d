"""Platforms: their lengths, and island platforms, drawn as one between two tracks.

A platform is as long as the scale of its track says, as far as there is room; without lengths in
the plan it takes all the room. A platform at two tracks is drawn once, between them, if both leave
it room at one place and nothing else is there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.contents import PLATFORM
from trappoint.drawing.geometry import Box, box_meets_line, lines_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.drawing.along import Along, Span
    from trappoint.drawing.contents import Content, Item
    from trappoint.drawing.drawn_places import DrawnPlaces
    from trappoint.drawing.graph import Graph
    from trappoint.drawing.lanes import Lanes

EDGE = 5.0
"""The distance from the rails to a platform, in drawing units."""

HALF = 12.0
"""The room that an island platform needs beside each of its tracks, with the air between lanes."""


Standing = tuple[int, "Item"]
"""A platform beside one piece, with the index of that piece."""


ROUNDED = 0.05
"""The room that rounding may take."""


class _Room(NamedTuple):
    """The room for one platform beside one piece, and its length to scale."""

    left: float
    right: float
    length: float


class Platforms:
    """The platforms of one drawing."""

    def __init__(self, graph: Graph, lanes: Lanes, contents: list[Content]) -> None:
        self.graph, self.lanes, self.contents = graph, lanes, contents
        self.own = [
            (piece, item)
            for piece, content in enumerate(contents)
            for item in (*content.above, *content.below)
            if item.kind == "platform"
        ]
        lane = lanes.of_piece
        pairs = [
            (one, other)
            for one in self.own
            for other in self.own
            if one[1].id == other[1].id
            and (one[1].side, other[1].side) == ("below", "above")
            and lane[one[0]] < lane[other[0]]
        ]
        self.pairs = sorted(pairs, key=lambda pair: lane[pair[1][0]] - lane[pair[0][0]])
        """Each two items that may be one island, the upper first; the nearest two first."""

    def neighbours(self) -> list[tuple[Standing, Standing]]:
        """Return the pairs for which the search is to leave room: those in neighbouring lanes."""
        lane = self.lanes.of_piece
        return [pair for pair in self.pairs if lane[pair[1][0]] - lane[pair[0][0]] <= 1]

    def place(self, places: DrawnPlaces, along: list[Along], spans: list[Span]) -> None:
        """Place the platforms, once all else is placed."""
        rooms: dict[int, _Room] = {}
        for piece, item in self.own:
            begin, end = spans[piece].level()
            room = _Room(*along[piece].room(item, spans[piece]), item.share * (end - begin))
            rooms[id(item)] = room
            item.shared, item.height = False, PLATFORM + EDGE
            _lay(item, room)
        lines = lines_of(self.graph, places, self.lanes.slanting) if self.pairs else []
        taken: list[Box] = []
        for (upper, one), (lower, other) in self.pairs:
            room = _both(rooms[id(one)], rooms[id(other)])
            if one.shared or other.shared or room.right - room.left < one.least - ROUNDED:
                continue
            before = one.x, one.width
            _lay(one, room)
            top, bottom = places.rails[upper] + EDGE, places.rails[lower] - EDGE
            box = Box(one.x, top, one.x + one.width, bottom)
            things = (*taken, *self._boxes(places, (one, other)))
            if any(box.overlaps(thing) for thing in things) or any(
                box_meets_line(box, line) for line in lines
            ):
                one.x, one.width = before
                continue
            taken.append(box)
            for item in (one, other):
                item.x, item.width, item.shared, item.height = one.x, one.width, True, HALF

    def fill(self, places: DrawnPlaces) -> None:
        """Let each island platform reach from track to track, once all heights are known."""
        for (upper, one), (lower, other) in self.pairs:
            if one.shared and other.shared and one.x == other.x:
                between = places.rails[lower] - places.rails[upper]
                one.height = other.height = between / 2

    def _boxes(self, places: DrawnPlaces, without: tuple[Item, Item]) -> Iterator[Box]:
        """Yield the room of every name and thing but these two."""
        for node, label in enumerate(places.labels):
            if label is not None:
                left, top = places.x[node] + label.left, places.y[node] + label.top
                yield Box(left, top, left + label.width, top + label.height)
        for piece, content in enumerate(self.contents):
            rail = places.rails[piece]
            for item in (*content.above, *content.below):
                if all(item is not own for own in without):
                    far = rail - item.height if item.side == "above" else rail + item.height
                    yield Box(item.x, min(rail, far), item.x + item.width, max(rail, far))


def _both(one: _Room, other: _Room) -> _Room:
    """Return the room that two tracks leave for one platform."""
    length = (one.length + other.length) / 2
    return _Room(max(one.left, other.left), min(one.right, other.right), length)


def _lay(item: Item, room: _Room) -> None:
    """Place a platform in the middle of its room, at most as long as that is."""
    item.width = max(item.least, min(room.length, room.right - room.left))
    item.x = (room.left + room.right - item.width) / 2
