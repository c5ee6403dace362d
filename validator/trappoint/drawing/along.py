"""The places of things along one piece: signals on both sides of its rails, and all else.

The feet of signals keep their order on the track, across both sides. Feet at one place on opposite
sides share one x. A foot stands at the scale of its track where the other things leave it room:
the greatest distance of a foot from its place to scale is as small as it can be, and no foot can
move closer to that place alone.
"""

from __future__ import annotations

from itertools import groupby, pairwise, zip_longest
from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.contents import GAP, LEAST
from trappoint.drawing.symbols import foot_of

if TYPE_CHECKING:
    from trappoint.drawing.contents import Content, Item, Side

SIDES: tuple[Side, Side] = ("above", "below")

FEET = 10.0
"""The least distance of two feet at different places, in drawing units."""

FAR, BUFFER = 24.0, 36.0
"""The least distance of a foot at one end of a piece from the other end: from any, from a buffer.
A foot between the ends needs its share of it."""


class End(NamedTuple):
    """The room to leave at one end of a piece, in drawing units."""

    above: float
    below: float
    """The distances of items from the end, on each side."""
    level: float
    """The distance from the end at which the piece reaches its own height."""
    far: float
    """The least distance from there of a foot at the other end."""

    def on(self, side: Side) -> float:
        """Return the distance of items from the end, on one side."""
        return self.above if side == "above" else self.below


class Span(NamedTuple):
    """The two ends of a piece."""

    start: float
    left: End
    stop: float
    right: End

    def on(self, side: Side) -> tuple[float, float]:
        """Return the left and right limits of the room for items, on one side."""
        return self.start + self.left.on(side), self.stop - self.right.on(side)

    def level(self) -> tuple[float, float]:
        """Return where the piece reaches its own height, and where it leaves it."""
        return self.start + self.left.level, self.stop - self.right.level


class Along:
    """The things beside one piece, and the distances that they need."""

    def __init__(self, content: Content) -> None:
        self.content = content
        self.columns = _columns(content)
        """The items whose feet share one x, from left to right."""
        self.number = {id(item): n for n, column in enumerate(self.columns) for item in column}
        self.shares = [column[0].at or 0.0 for column in self.columns]
        self.apart: dict[tuple[int, int], float] = {}
        """From two columns (left, right) to their least distance."""
        self.lefts: list[tuple[Side, int, float]] = []
        """(side, column, distance from the first thing's left edge)."""
        self.rights: list[tuple[Side, int, float]] = []
        for pair in pairwise(range(len(self.columns))):
            self.apart[pair] = FEET
        for side in SIDES:
            self._chain(side)

    def _chain(self, side: Side) -> None:
        """Note the distances of the items on one side, each with a gap to the next."""
        last, used = -1, 0.0
        for item in self.content.on(side):
            own = self.number.get(id(item))
            if own is None:
                used += item.least + GAP
                continue
            used += foot_of(item) - item.x
            if last < 0:
                self.lefts.append((side, own, used))
            else:
                self.apart[last, own] = max(used, self.apart.get((last, own), 0.0))
            last, used = own, item.x + item.width - foot_of(item) + GAP
        if last >= 0:
            self.rights.append((side, last, used - GAP))

    def least(self, left: End, right: End) -> float:
        """Return the least length of the piece."""
        lows, highs = self._from_left(left), self._from_right(right)
        return max(
            *(low + high for low, high in zip(lows, highs, strict=True)),
            *(left.on(s) + max(self.content.width(s), LEAST) + right.on(s) for s in SIDES),
        )

    def _from_left(self, end: End) -> list[float]:
        """Return the least distance of each column from the left end of the piece."""
        found = [end.level + share * end.far for share in self.shares]
        for side, column, distance in self.lefts:
            found[column] = max(found[column], end.on(side) + distance)
        return _pushed(found, self.apart)

    def _from_right(self, end: End) -> list[float]:
        """Return the least distance of each column from the right end of the piece."""
        found = [end.level + (1 - share) * end.far for share in self.shares]
        for side, column, distance in self.rights:
            found[column] = max(found[column], end.on(side) + distance)
        return [-x for x in _pushed_back([-distance for distance in found], self.apart)]

    def place(self, span: Span) -> None:
        """Place all items; platforms get their least width."""
        lows = [span.start + distance for distance in self._from_left(span.left)]
        highs = [span.stop - distance for distance in self._from_right(span.right)]
        begin, end = span.level()
        wishes = [begin + share * (end - begin) for share in self.shares]
        for x, column in zip(nearest(wishes, lows, highs, self.apart), self.columns, strict=True):
            for item in column:
                item.x += x - foot_of(item)
        for side in SIDES:
            self._fill(side, *span.on(side))

    def _fill(self, side: Side, start: float, stop: float) -> None:
        """Place the items without a foot between the others, as near to the middle as they can."""
        items = self.content.on(side)
        at = start
        for item in items:
            if item.at is None:
                item.width = item.least
                item.x = max(at, (start + stop - item.width) / 2)
            at = item.x + item.width + GAP
        at = stop
        for item in reversed(items):
            if item.at is None:
                item.x = min(item.x, at - item.width)
            at = item.x - GAP

    def before(self, own: Item, end: End) -> float:
        """Return the least distance of an item without a foot from the left end of the piece."""
        lows, at = self._from_left(end), end.on(own.side)
        for item in self.content.on(own.side):
            if item is own:
                break
            number = self.number.get(id(item))
            if number is not None:
                at = max(at, lows[number] - foot_of(item) + item.x)
            at += item.least + GAP
        return at

    def after(self, own: Item, end: End) -> float:
        """Return the least distance of an item without a foot from the right end of the piece."""
        highs, at = self._from_right(end), end.on(own.side)
        for item in reversed(self.content.on(own.side)):
            if item is own:
                break
            number = self.number.get(id(item))
            if number is not None:
                at = max(at, highs[number] + foot_of(item) - item.x - item.width)
            at += item.least + GAP
        return at

    def room(self, own: Item, span: Span) -> tuple[float, float]:
        """Return the left and right limits of the room around an item, once all are placed."""
        items = self.content.on(own.side)
        number = next(n for n, item in enumerate(items) if item is own)
        left, right = span.on(own.side)
        if number:
            left = items[number - 1].x + items[number - 1].width + GAP
        if number + 1 < len(items):
            right = items[number + 1].x - GAP
        return left, right


def nearest(
    wishes: list[float],
    lows: list[float],
    highs: list[float],
    apart: dict[tuple[int, int], float],
) -> list[float]:
    """Return places near ``wishes`` that keep all least distances and limits.

    ``lows`` and ``highs`` keep the distances themselves. The places half way between the least ones
    at or after the wishes and the greatest ones at or before them have the least greatest distance.
    """
    after, before = _pushed(wishes, apart), _pushed_back(wishes, apart)
    found = [(a + b) / 2 for a, b in zip(after, before, strict=True)]
    found = [min(max(x, low), high) for x, low, high in zip(found, lows, highs, strict=True)]
    numbers = list(range(len(found)))
    for number in (*numbers, *reversed(numbers)):
        low = max([lows[number], *(found[a] + d for (a, b), d in apart.items() if b == number)])
        high = min([highs[number], *(found[b] - d for (a, b), d in apart.items() if a == number)])
        found[number] = min(max(wishes[number], low), high)
    return found


def _pushed(places: list[float], apart: dict[tuple[int, int], float]) -> list[float]:
    """Return the least places, none less than the given ones, that keep all least distances."""
    found = list(places)
    for (one, other), distance in sorted(apart.items()):
        found[other] = max(found[other], found[one] + distance)
    return found


def _pushed_back(places: list[float], apart: dict[tuple[int, int], float]) -> list[float]:
    """Return the greatest places, none greater than the given ones, that keep all distances."""
    found = list(places)
    for (one, other), distance in sorted(apart.items(), reverse=True):
        found[one] = min(found[one], found[other] - distance)
    return found


def _columns(content: Content) -> list[list[Item]]:
    """Return the items with feet from left to right; those that face each other share a column."""
    feet = [item for side in SIDES for item in content.on(side) if item.at is not None]
    feet.sort(key=_place)
    columns: list[list[Item]] = []
    for _, group in groupby(feet, key=_place):
        of = list(group)
        above = [item for item in of if item.side == "above"]
        below = [item for item in of if item.side == "below"]
        for pair in zip_longest(above, below):
            columns.append([item for item in pair if item is not None])
    return columns


def _place(item: Item) -> float:
    return round(item.at or 0.0, 6)
