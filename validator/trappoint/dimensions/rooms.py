"""The room for a train between signals, fouling places and the ends of tracks.

Each end of a section has a limit: a signal that holds trains, a fouling place, a buffer, the toe of
points or a turntable. The room is the length between the two limits. Without a measure the room is
unknown, or has only an upper bound.
"""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING, NamedTuple

from trappoint.dimensions.borders import Border, Borders, place_length, total
from trappoint.model.layout import HEADINGS, opposite

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Head, Heading, Layout, Track, Train

    Joints = dict[str, list[tuple[Track, Heading]]]
    """For each joint, the tracks that meet there, with the heading that leads to it."""


class Room(NamedTuple):
    """The length of train that fits in one place."""

    place: str
    """A section of a track, or a yard."""
    track: str
    stand: bool
    """True for a stand; False if a signal only holds trains there."""
    at_most_mm: float | None
    """No longer train fits; None if a measure is missing."""
    surely_mm: float | None
    """A train of this length fits; None if a measure is missing."""
    bounds: tuple[str, str]
    """The limits at the up end and at the down end, in words."""

    @property
    def known(self) -> bool:
        """True if both bounds are the same."""
        return self.at_most_mm is not None and self.at_most_mm == self.surely_mm


class Bound(NamedTuple):
    """The limit of a train at one end of its section, in mm beyond that end."""

    reach_mm: float | None
    """The farthest that a train may reach beyond the end; negative if it must stay short of it.
    None if a measure is missing."""
    surely_mm: float | None
    """A train that reaches no farther is clear; None if a measure is missing."""
    words: str


def derive_rooms(facts: Facts) -> list[Room]:
    """Return the room of each section that is a stand or in which a signal holds trains."""
    walk = Rooms(facts)
    rooms = (walk.room(place) for place in facts.network.pieces)
    return [room for room in rooms if room is not None]


class Rooms:
    """The rooms of the sections of one plan."""

    def __init__(self, facts: Facts) -> None:
        self.network = facts.network
        self.borders = Borders(facts.network)

    def room(self, place: int) -> Room | None:
        """Return the room of a section.

        None if it is neither a stand nor has a signal that holds trains, or if it is beyond a held
        edge.
        """
        network = self.network
        if network.places[place].elsewhere:
            return None
        down, up = network.states_of[place]
        stand = place in network.stand_at
        if not stand and network.facing[down] < 0 and network.facing[up] < 0:
            return None
        described = network.places[place]
        track, length = network.layout.tracks[described.id], place_length(network, place)
        return room_between(described.name, track, stand, length, self.bound(up), self.bound(down))

    def bound(self, state: int) -> Bound:
        """Return the limit of a train at the end that it runs to in this state."""
        border = self.borders.at(state)
        if border.kind == "edge" and not border.held:
            return Bound(None, None, "the edge of the plan")
        return bound_at(self.borders, border)


def bound_at(borders: Borders, border: Border, beyond: float = 0.0) -> Bound:
    """Return the limit of a train at a border that is ``beyond`` mm beyond its section."""
    keep = borders.keep(border)
    surely = None if isinf(keep.most) else beyond - keep.most
    return Bound(beyond - keep.least, surely, keep.words)


def room_between(
    place: str, track: Track, stand: bool, length: float | None, up: Bound, down: Bound
) -> Room:
    """Return the room of a section with this length and these limits at its ends."""
    at_most = total((length, up.reach_mm, down.reach_mm))
    surely = total((length, up.surely_mm, down.surely_mm))
    return Room(
        place,
        track.id,
        stand,
        None if at_most is None else max(0.0, at_most),
        None if at_most is None or surely is None else max(0.0, surely),
        (up.words, down.words),
    )


def joint_ends(layout: Layout) -> Joints:
    """Return, for each joint, the tracks that meet there with the heading that leads to it."""
    found: Joints = {}
    for track in layout.tracks.values():
        for heading in HEADINGS:
            end = track.end(heading)
            if end.kind == "joint":
                found.setdefault(end.name, []).append((track, heading))
    return found


def joined_to(
    joints: Joints,
    track: Track,
    heading: Heading,
) -> tuple[Track, Heading] | None:
    """Return the track beyond a joint, with the heading of a train there; None if there is none."""
    ends = joints.get(track.end(heading).name, [])
    if len(ends) != 2:
        return None
    (one, way), (other, back) = ends
    if (one.id, way) == (track.id, heading):
        return other, opposite(back)
    return one, opposite(way)


def over_joints(joints: Joints, track: Track, heading: Heading) -> Iterator[tuple[Track, Heading]]:
    """Yield the tracks that follow the end of a track over joints, with the train's heading there.

    On a ring it stops before the first track.
    """
    seen = {(track.id, heading)}
    while track.end(heading).kind == "joint":
        joined = joined_to(joints, track, heading)
        if joined is None or (joined[0].id, joined[1]) in seen:
            return
        track, heading = joined
        seen.add((track.id, heading))
        yield joined


def to_its_end(layout: Layout, head: Head) -> float | None:
    """Return the distance from a head to the end of its track ahead, in mm; None if unknown."""
    if head.at_mm is None:
        return 0.0
    if head.heading == "up":
        return head.at_mm
    length = layout.tracks[head.track].length_mm
    return None if length is None else length - head.at_mm


def before_element(
    layout: Layout, joints: Joints, head: Head
) -> tuple[float | None, Track, Heading]:
    """Return the distance from a head to the end of plain line, the last track and the heading.

    The way may lead over joints. The distance is in mm; None if a measure is missing.
    """
    last, heading = layout.tracks[head.track], head.heading
    lengths = [to_its_end(layout, head)]
    for onward in over_joints(joints, last, heading):
        last, heading = onward
        lengths.append(last.length_mm)
    return total(lengths), last, heading


def fits(train: Train, room: Room) -> bool | None:
    """Return whether a train fits; None if this is unknown."""
    if train.length_mm is None or room.at_most_mm is None:
        return None
    if train.length_mm > room.at_most_mm:
        return False
    return True if room.surely_mm is not None and train.length_mm <= room.surely_mm else None


def fits_platform(train: Train, length_mm: float | None) -> str | None:
    """Return how a train fits a platform: ``whole``, ``coaches`` (the engine is beyond) or ``no``.

    None if a measure is missing.
    """
    if train.length_mm is None or length_mm is None:
        return None
    if train.length_mm <= length_mm:
        return "whole"
    if train.engine_mm is None:
        return None
    return "coaches" if train.length_mm - train.engine_mm <= length_mm else "no"
