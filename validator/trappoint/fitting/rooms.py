"""How long a train may be: between signals, fouling places and the ends of tracks.

A train that stands somewhere has the length between what bounds it at either end: a signal that
holds trains there, the place where it would foul a neighbour, a buffer, the toe of points, a
turntable. Over a joint without a signal it may stretch on. What is not measured is not known: then
a room has no length, or one that it has at most.
"""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING, NamedTuple

from trappoint.fitting.clearances import passing_spacing
from trappoint.fitting.parting import CLEAR, Partings
from trappoint.fitting.scales import scale_of
from trappoint.layout import HEADINGS, opposite

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.facts import Facts
    from trappoint.layout import Head, Heading, Layout, Track, Train
    from trappoint.network import Network

    Joints = dict[str, list[tuple[Track, Heading]]]
    """For each joint the tracks that meet there, with the heading that leads to it."""


MOST_JOINTS = 1000
"""Over more joints than this the end of a room is not looked for."""


class Room(NamedTuple):
    """The length that a train may have in one place."""

    place: str
    """A section of a track, or a yard."""
    track: str
    stand: bool
    """True where trains may set off again; false where they are only held at a signal."""
    at_most_mm: float | None
    """None where a measure for it is not given."""
    surely_mm: float | None
    """A train of that length surely fits; None where a measure for it is not given."""
    bounds: tuple[str, str]
    """What bounds it at the up end and at the down end, in words."""

    @property
    def known(self) -> bool:
        """True where the longest train that may fit surely fits."""
        return self.at_most_mm is not None and self.at_most_mm == self.surely_mm


class Bound(NamedTuple):
    """How far a train may reach from one end of its section towards a heading, in mm."""

    reach_mm: float | None
    """Added to the length of the section; less than 0 where it must keep away from its end.
    None where a measure for it is not given."""
    surely_mm: float | None
    """So far it surely reaches and is clear of all others."""
    words: str


def derive_rooms(facts: Facts) -> list[Room]:
    """Return the room of every section that is a stand or in which a signal holds trains."""
    walk = Rooms(facts)
    rooms = []
    for track in facts.network.sections:
        for part in range(len(facts.network.sections[track])):
            room = walk.room(track, part)
            if room is not None:
                rooms.append(room)
    return rooms


class Rooms:
    """Looks from a section towards either end until something bounds a train."""

    def __init__(self, facts: Facts) -> None:
        self.network = facts.network
        self.layout = facts.layout
        self.partings = Partings(facts.layout, passing_apart(facts.layout))
        self.joints = joint_ends(self.layout)

    def room(self, track: str, part: int) -> Room | None:
        """Return the room of a section; None where trains neither stand nor are held."""
        network = self.network
        states = network.sections[track][part]
        place = network.place_of[states["down"]]
        stand = place in network.stand_at
        if not stand and all(network.facing[state] < 0 for state in states.values()):
            return None
        length = section_length(network, track, part)
        up, down = (self.bound(track, part, heading) for heading in ("up", "down"))
        name = network.places[place].name
        return room_between(name, self.layout.tracks[track], stand, length, up, down)

    def bound(self, track_id: str, part: int, heading: Heading) -> Bound:
        """Return what bounds a train in a section towards one end."""
        network, beyond = self.network, 0.0
        seen = {(self.layout.tracks[track_id], heading)}
        while True:
            sections = network.sections[track_id]
            inner = part < len(sections) - 1 if heading == "down" else part > 0
            facing = network.facing[sections[part][heading]]
            track = self.layout.tracks[track_id]
            held = f"signal {network.heads[facing].signal}" if facing >= 0 else ""
            if inner:
                onward = part + (1 if heading == "down" else -1)
                back = network.facing[sections[onward][opposite(heading)]]
                return self._cut(track, heading, part, beyond, held or self._name(back))
            if held or track.end(heading).kind != "joint":
                return self._end(track, heading, beyond, held)
            joined = self._joined(track, heading)
            if (
                joined is None
                or joined[0].id not in network.sections
                or joined in seen
                or len(seen) > MOST_JOINTS
            ):
                return Bound(None, None, "no end that is known")
            other, heading = joined
            track_id = other.id
            seen.add(joined)
            part = 0 if heading == "down" else len(network.sections[track_id]) - 1
            back = network.facing[network.sections[track_id][part][opposite(heading)]]
            if back >= 0:
                return Bound(beyond, beyond, self._name(back))
            length = section_length(network, track_id, part)
            if length is None:
                return Bound(None, None, f"{track_id}, of no length given")
            beyond += length

    def _name(self, head: int) -> str:
        return f"signal {self.network.heads[head].signal}"

    def _joined(self, track: Track, heading: Heading) -> tuple[Track, Heading] | None:
        return joined_to(self.layout, self.joints, track, heading)

    def _cut(self, track: Track, heading: Heading, part: int, beyond: float, words: str) -> Bound:
        """A signal along the track: its place, or the fouling place if that comes sooner."""
        cuts, length = self.network.cuts[track.id], track.length_mm
        at = cuts[part] if heading == "down" else cuts[part - 1]
        away = at if heading == "up" else None if length is None else length - at
        if away is None:
            return Bound(beyond, beyond, words)
        return end_bound(self.partings, track, heading, beyond + away, words, away)

    def _end(self, track: Track, heading: Heading, beyond: float, held: str) -> Bound:
        return end_bound(self.partings, track, heading, beyond, held)


def passing_apart(layout: Layout) -> float | None:
    """Return at which distance of centres stock passes, in mm; None where that is not known."""
    spacing = passing_spacing(layout, scale_of(layout))
    return spacing[0] if spacing else None


def section_length(network: Network, track: str, part: int) -> float | None:
    """Return how long one section of a track is, in mm; None where that is not given."""
    cuts = network.cuts[track]
    start = cuts[part - 1] if part else 0.0
    if part < len(cuts):
        return cuts[part] - start
    whole = network.layout.tracks[track].length_mm
    return None if whole is None else whole - start


def end_bound(
    partings: Partings,
    track: Track,
    heading: Heading,
    beyond: float,
    held: str,
    away: float = 0.0,
) -> Bound:
    """Return what bounds a train at the end of a track, which is so far beyond its section.

    ``held`` names the signal there, if there is one, ``away`` from the end.
    """
    end = track.end(heading)
    if end.kind == "edge" and not held:
        return Bound(None, None, "the edge of the plan")
    foul = partings.beyond(end)
    fouling = f"fouling place at {end.text}"
    reach = beyond - max(away, foul.least)
    if held and not foul.measured:
        # A signal is taken to stand where a train held at it is clear, until measures tell.
        return Bound(reach, reach, held if away >= foul.least else fouling)
    surely = None if isinf(foul.most) else beyond - max(away, foul.most)
    if foul == CLEAR or foul.most <= away:
        return Bound(reach, surely, held or end.text)
    nowhere = surely is None and not foul.least
    return Bound(reach, surely, f"{end.text} (fouling place not known)" if nowhere else fouling)


def room_between(
    place: str, track: Track, stand: bool, length: float | None, up: Bound, down: Bound
) -> Room:
    """Return the room of a section of this length with its bounds at either end."""
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
    layout: Layout,
    joints: Joints,
    track: Track,
    heading: Heading,
) -> tuple[Track, Heading] | None:
    """Return the track beyond a joint, with the heading of a train that comes on to it."""
    ends = joints.get(track.end(heading).name, [])
    if len(ends) != 2:
        return None
    (one, way), (other, back) = ends
    if (one.id, way) == (track.id, heading):
        return other, opposite(back)
    return one, opposite(way)


def over_joints(
    layout: Layout, joints: Joints, track: Track, heading: Heading
) -> Iterator[tuple[Track, Heading]]:
    """Yield the tracks that a train comes on to from the end of one, over joints alone.

    Each with its heading there; on a ring until it comes round.
    """
    seen = {(track.id, heading)}
    while track.end(heading).kind == "joint":
        joined = joined_to(layout, joints, track, heading)
        if joined is None or (joined[0].id, joined[1]) in seen:
            return
        track, heading = joined
        seen.add((track.id, heading))
        yield joined


def to_its_end(layout: Layout, head: Head) -> float | None:
    """Return how far a head stands from the end that its trains run to; None if not known."""
    if head.at_mm is None:
        return 0.0
    if head.heading == "up":
        return head.at_mm
    length = layout.tracks[head.track].length_mm
    return None if length is None else length - head.at_mm


def total(lengths: Iterable[float | None]) -> float | None:
    """Return the sum of lengths, None where one of them is not known."""
    known = 0.0
    for length in lengths:
        if length is None:
            return None
        known += length
    return known


def before_element(
    layout: Layout, joints: Joints, head: Head
) -> tuple[float | None, Track, Heading]:
    """Return how far it is from a head to the end of plain line, with the track that ends there.

    Over joints; None for the length where a measure is not given.
    """
    last, heading = layout.tracks[head.track], head.heading
    lengths = [to_its_end(layout, head)]
    for onward in over_joints(layout, joints, last, heading):
        last, heading = onward
        lengths.append(last.length_mm)
    return total(lengths), last, heading


def fits(train: Train, room: Room) -> bool | None:
    """Tell whether a train fits; None where that is not known."""
    if train.length_mm is None or room.at_most_mm is None:
        return None
    if train.length_mm > room.at_most_mm:
        return False
    return True if room.surely_mm is not None and train.length_mm <= room.surely_mm else None


def fits_platform(train: Train, length_mm: float | None) -> str | None:
    """Tell how a train fits a platform: ``whole``, ``coaches`` (the engine beyond it) or ``no``.

    None where a measure is not given.
    """
    if train.length_mm is None or length_mm is None:
        return None
    if train.length_mm <= length_mm:
        return "whole"
    if train.engine_mm is None:
        return None
    return "coaches" if train.length_mm - train.engine_mm <= length_mm else "no"
