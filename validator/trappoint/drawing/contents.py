"""The items beside each piece (signals, platforms, names), and the room that they take."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from math import fsum
from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.drawing.text_width import shortened, width_of, width_with_marks

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.drawing.graph import DrawnPiece, Graph
    from trappoint.model.layout import Arm, Head, Layout, Platform, Signal

Side = Literal["above", "below"]
ItemKind = Literal["signal", "head", "platform", "track", "yard"]

ID_SIZE, TRACK_SIZE, NAME_SIZE = 10.0, 10.0, 10.0
"""The sizes of letters: ids of arms and points, ids of tracks, names."""

DOLL, ROW, ARM, CLEAR = 19.0, 16.0, 12.0, 9.0
"""The length of a doll, the distance of dolls, the length of an arm, the distance from the rails
at which a signal begins."""

FOOT, BEYOND = 1.5, 10.0
"""The distance of a post from the end of its room; that of a text from the end of its doll, beyond
an arm that is off."""

LEAST = 14.0
"""The least room for items beside a piece."""

PLATFORM = 17.0
GAP = 7.0


@dataclass(slots=True)
class Item:
    """One thing beside a piece."""

    kind: ItemKind
    id: str
    side: Side
    width: float
    height: float
    at: float | None = None
    """Its place on the piece, as a share from the left; None for any place."""
    to_right: bool = True
    """For a signal: whether its trains run to the right."""
    text: str = ""
    x: float = 0.0
    """Its left edge, once it is placed."""
    share: float = 1.0
    """For a platform: its length as a share of the length of its piece; 1 if it is unknown."""
    shared: bool = False
    """For a platform: whether it is drawn as one with its item at a neighbouring piece."""

    least: float = field(init=False, default=0.0)
    """The least width that it needs; a platform widens into free room."""

    def __post_init__(self) -> None:
        """Note the room that it needs."""
        self.least = self.width


@dataclass(slots=True)
class Content:
    """The items beside one piece."""

    above: list[Item] = field(default_factory=list)
    below: list[Item] = field(default_factory=list)

    def add(self, item: Item) -> None:
        """Put an item on its side."""
        self.on(item.side).append(item)

    def on(self, side: Side) -> list[Item]:
        """Return the items on one side, from left to right."""
        return self.above if side == "above" else self.below

    def height(self, side: Side) -> float:
        """Return how far the items on one side reach from the rails."""
        return max((item.height for item in self.on(side)), default=0.0)

    def width(self, side: Side) -> float:
        """Return the least room that the items on one side take."""
        items = self.on(side)
        return fsum(item.least for item in items) + GAP * max(0, len(items) - 1)


Marks = dict[tuple[str, str], str]
"""From (kind, id) of a thing to the numbers of its findings, as text."""


def rows_of(signal: Signal) -> list[list[Arm]]:
    """Return the dolls of a signal from left to right, the arms of each from top to bottom."""
    dolls: dict[int, list[Arm]] = {}
    for arm in signal.arms:
        dolls.setdefault(arm.doll, []).append(arm)
    return [dolls[number] for number in sorted(dolls)]


def row_text(row: list[Arm], signal: Signal, marks: Marks) -> str:
    """Return the text beside one doll."""
    return "/".join(_arm_text(arm, signal) for arm in row) + marks.get(("signals", signal.id), "")


def _arm_text(arm: Arm, signal: Signal) -> str:
    """Return an arm's id, with its track or heading if these differ from those of its post."""
    if arm.track != signal.track:
        return f"{arm.id} for {arm.track}"
    return arm.id if arm.heading == signal.heading else f"{arm.id} for {arm.heading} trains"


def lies_low(signal: Signal) -> bool:
    """Return whether a signal stands on the ground."""
    return signal.mount == "ground"


def signal_size(signal: Signal, marks: Marks) -> tuple[float, float]:
    """Return the room that a signal takes, along the rails and across."""
    rows = rows_of(signal)
    text = max(width_of(row_text(row, signal, marks), ID_SIZE, bold=True) for row in rows)
    most = max(len(row) for row in rows)
    doll = (8.0 if lies_low(signal) else DOLL) + 8.0 * (most - 1)
    return FOOT + doll + BEYOND + text + 1, CLEAR + ROW * len(rows)


def find_contents(
    graph: Graph, layout: Layout, slanting: list[bool], marks: Marks
) -> list[Content]:
    """Return the items beside each piece, without the names of tracks and platforms."""
    contents = [Content() for _ in graph.pieces]
    lengths = _lengths(layout)
    by_track: dict[str, list[DrawnPiece]] = {}
    for piece in graph.pieces:
        by_track.setdefault(piece.track, []).append(piece)
    for signal in layout.signals.values():
        if signal.track in by_track and signal.arms:
            spot = _spot(signal, by_track[signal.track], _share(signal, lengths))
            _stand(signal, spot, contents, marks)
            for head in signal.heads:
                if head.track in by_track and not is_own(head, signal):
                    spot = _spot(head, by_track[head.track], _share(head, lengths))
                    _stop_for(head, signal, spot, contents)
    for content in contents:
        for side in (content.above, content.below):
            _sort(side)
    main = {
        track: max(pieces, key=lambda p: (not slanting[p.index], abs(p.stop - p.start), -p.part))
        for track, pieces in by_track.items()
    }
    for yard in layout.yards.values():
        named = [main[t] for t in yard.tracks if t in main and not slanting[main[t].index]]
        if named:
            piece = max(named, key=lambda p: layout.tracks[p.track].length_mm or 0)
            text = shortened(yard.name or f"Yard {yard.id}") + marks.get(("yards", yard.id), "")
            width = width_of(text, NAME_SIZE, bold=True)
            _insert(contents[piece.index], Item("yard", yard.id, "above", width, 20, text=text))
    return contents


def add_names(
    graph: Graph,
    layout: Layout,
    slanting: list[bool],
    contents: list[Content],
    lane: Mapping[int, float],
    marks: Marks,
    *,
    tracks: bool = True,
) -> None:
    """Add platforms and the ids of tracks, after the order from top to bottom is known.

    Without ``tracks``, only ids that make no piece longer.
    """
    main: dict[str, DrawnPiece] = {}
    for piece in graph.pieces:
        if not slanting[piece.index]:
            before = main.get(piece.track)
            if before is None or _longer(piece, before):
                main[piece.track] = piece
    taken: dict[int, Side] = {}
    for platform in layout.platforms.values():
        served = [main[track].index for track in platform.tracks if track in main]
        text = shortened(platform.name or f"Platform {platform.id}")
        text += marks.get(("platforms", platform.id), "")
        width = width_with_marks(text, NAME_SIZE) + 12
        for number in served:
            side = _platform_side(number, served, lane, contents[number])
            taken[number] = side
            item = Item("platform", platform.id, side, width, PLATFORM + 5, text=text)
            item.share = _length_share(platform, graph.pieces[number], layout)
            _insert(contents[number], item)
    for track, piece in main.items():
        text = track + marks.get(("tracks", track), "")
        side = "above" if taken.get(piece.index) == "below" else "below"
        item = Item("track", track, side, width_with_marks(text, TRACK_SIZE), 16, text=text)
        if tracks or _has_room(contents[piece.index], item):
            _insert(contents[piece.index], item)


def _has_room(content: Content, item: Item) -> bool:
    other = content.width("above" if item.side == "below" else "below")
    return content.width(item.side) + GAP + item.width <= max(other, LEAST)


def _longer(piece: DrawnPiece, before: DrawnPiece) -> bool:
    return abs(piece.stop - piece.start) > abs(before.stop - before.start)


def _platform_side(
    piece: int, served: list[int], lane: Mapping[int, float], content: Content
) -> Side:
    """Choose the side of a platform: between the tracks that it serves, else where it is free."""
    others = [lane[other] for other in served if other != piece]
    if others:
        return "below" if lane[piece] < sum(others) / len(others) else "above"
    lanes = sorted(lane.values())
    middle = (lanes[0] + lanes[-1]) / 2
    if lane[piece] == middle:
        return "above" if len(content.above) <= len(content.below) else "below"
    return "above" if lane[piece] < middle else "below"


def _length_share(platform: Platform, piece: DrawnPiece, layout: Layout) -> float:
    """Return the length of a platform as a share of the length of its piece, at most 1."""
    length = (layout.tracks[piece.track].length_mm or 0) * abs(piece.stop - piece.start)
    return min(1.0, platform.length_mm / length) if platform.length_mm and length else 1.0


def _sort(items: list[Item]) -> None:
    """Sort signals from left to right.

    At one place those for trains to the left stand on the left; trains pass the others of their
    heading in the order of the plan.
    """
    number = {id(item): place for place, item in enumerate(items)}

    def key(item: Item) -> tuple[float, bool, int]:
        own = number[id(item)]
        return round(item.at or 0.0, 6), item.to_right, own if item.to_right else -own

    items.sort(key=key)


def _insert(content: Content, item: Item) -> None:
    """Put an item without a fixed place into the longest part between the others."""
    items = content.on(item.side)
    fixed = [number for number, other in enumerate(items) if other.at is not None]
    ends = [0.0, *(items[number].at or 0.0 for number in fixed), 1.0]
    parts = [round(b - a, 6) for a, b in pairwise(ends)]
    longest = parts.index(max(parts))
    items.insert(fixed[longest - 1] + 1 if longest else 0, item)


def _stand(signal: Signal, spot: _Spot, contents: list[Content], marks: Marks) -> None:
    """Put a signal beside its piece."""
    piece, at, to_right = spot
    width, height = signal_size(signal, marks)
    side = _side(signal, to_right=to_right)
    contents[piece].add(Item("signal", signal.id, side, width, height, at, to_right))


def is_own(head: Head, signal: Signal) -> bool:
    """Return whether a head is for trains on the track of its post, in its heading."""
    return (head.track, head.heading) == (signal.track, signal.heading)


def _stop_for(head: Head, signal: Signal, spot: _Spot, contents: list[Content]) -> None:
    """Mark where trains stop for arms whose post stands elsewhere."""
    piece, at, to_right = spot
    text = f"{'/'.join(arm.id for arm in head.arms)} on post {signal.id}"
    name = f"{signal.id}-{signal.heads.index(head)}"
    width = 14 + width_of(text, TRACK_SIZE)
    side = _side(signal, to_right=to_right)
    contents[piece].add(Item("head", name, side, width, CLEAR + 12, at, to_right, text))


def _side(signal: Signal, *, to_right: bool) -> Side:
    return "above" if to_right == (signal.side != "right") else "below"


class _Spot(NamedTuple):
    """Where a post or head stands."""

    piece: int
    at: float
    """Its place on the piece, as a share from the left."""
    to_right: bool
    """Whether its trains run to the right."""


def _spot(post: Signal | Head, pieces: list[DrawnPiece], share: float) -> _Spot:
    """Return where a post or head stands; ``share`` is its place on the track."""
    piece = min(pieces, key=lambda p: (_away(p, share), p.start == p.stop, p.part))
    to_right = (post.heading == "down") != piece.turned
    span = piece.stop - piece.start
    at = (share - piece.start) / span if span else float(to_right)
    return _Spot(piece.index, min(1.0, max(0.0, at)), to_right)


def _away(piece: DrawnPiece, share: float) -> float:
    low, high = sorted((piece.start, piece.stop))
    return max(0.0, low - share, share - high)


def _share(post: Signal | Head, lengths: Mapping[str, float]) -> float:
    """Return the place of a post or head on its track, as a share from the up end."""
    if post.at_mm is None:
        return 1.0 if post.heading == "down" else 0.0
    length = lengths[post.track]
    return post.at_mm / length if length else 0.0


def _lengths(layout: Layout) -> dict[str, float]:
    """Return the length of each track with a signal at a given place, in millimetres.

    If the plan does not give it, the track reaches beyond its last signal as far as the first one
    is from its up end.
    """
    given: dict[str, list[float]] = {}
    for signal in layout.signals.values():
        posts: tuple[Signal | Head, ...] = (signal, *signal.heads)
        for post in posts:
            if post.at_mm is not None:
                given.setdefault(post.track, []).append(post.at_mm)
    lengths = {}
    for track, places in given.items():
        known = layout.tracks[track].length_mm if track in layout.tracks else None
        first = min((place for place in places if place), default=0.0)
        lengths[track] = max([known, *places]) if known else first + max(places)
    return lengths
