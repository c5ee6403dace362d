"""The plan, typed and frozen: tracks, points, crossings, turntables, signals and the rest.

Everything here is as the author wrote it, with the defaults filled in. References between things
are kept as ids; whether they lead anywhere is for the rules to say.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.core.findings import pointer_to

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

Heading = Literal["down", "up"]
ElementKind = Literal["points", "crossings", "turntables"]
ArmKind = Literal["stop", "distant", "calling-on", "shunt"]

BEYOND = "edge:"
"""How the ids of what lies beyond a held edge begin (see ``beyond``): no plan can write them."""

HEADINGS: tuple[Heading, Heading] = ("down", "up")

HOLDING: tuple[ArmKind, ArmKind] = ("stop", "shunt")
"""The kinds of arm at which a train is held."""

SLIP_LINKS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "diamond": (),
    "single-slip": (("a1", "b2"),),
    "double-slip": (("a1", "b2"), ("b1", "a2")),
}
"""The pairs of legs that the slip rails of each kind of crossing link."""


def edge_beyond(name: str) -> str:
    """Return the name of the edge beyond which something of this name lies."""
    return name.removeprefix(BEYOND).partition(".")[0]


def opposite(heading: Heading) -> Heading:
    """Return the other heading."""
    return "up" if heading == "down" else "down"


class End(NamedTuple):
    """What one end of a track meets."""

    text: str
    """As written in the plan."""
    kind: Literal["leg", "joint", "buffer", "edge"]
    name: str = ""
    """The element's id, or the name of the joint or edge."""
    leg: str = ""


class Track(NamedTuple):
    """A piece of plain line between two ends. Lengths in millimetres."""

    id: str
    up: End
    down: End
    running: Literal["both", "down", "up"]
    stand: bool
    """True if a train may stand and set off again (given, or by default)."""
    length_mm: float | None
    radius_mm: float | None
    gradient_percent: float | None
    name: str
    rank: int | None
    """How important the road is, 1 being the most important."""
    lane: int | None = None
    """A hint for the diagram: how far down it is drawn."""
    stand_by: Literal["", "said", "platform", "end"] = ""
    """What makes it a stand: its own word, a platform, or only an end at a buffer or an edge."""

    @property
    def stands_whole(self) -> bool:
        """True if every piece of it is a stand, not only that at a buffer or an edge."""
        return self.stand_by in ("said", "platform")

    def end(self, towards: Heading) -> End:
        """Return the end that a train with this heading runs to."""
        return self.down if towards == "down" else self.up

    def allows(self, heading: Heading) -> bool:
        """Return whether trains may run on this track with this heading."""
        return self.running in ("both", heading)

    @property
    def headings(self) -> tuple[Heading, ...]:
        """The headings that ``running`` allows."""
        return tuple(heading for heading in HEADINGS if self.allows(heading))


_TURNOUT_LEGS = ("toe", "left", "right")
_THREE_WAY_LEGS = ("toe", "left", "middle", "right")


class Edge(NamedTuple):
    """What a plan says about one of its edges."""

    name: str
    """As in ``edge:NAME``."""
    held: bool
    """True if a stop signal on the neighbouring board holds the trains that come on here."""
    title: str = ""
    """What it is called in full."""


class Points(NamedTuple):
    """Points: turnout or three-way. ``normal`` is the usual lie, as seen from the toe."""

    id: str
    kind: Literal["turnout", "three-way"]
    normal: str
    trap: bool
    lock: bool
    """True if a facing-point lock is noted."""
    crossing_number: float | None
    measure: Literal["centre-line", "right-angle"]
    angle_degrees: float | None
    leg_mm: float | None = None
    """From where the centre lines of its legs meet to the ends of the legs."""
    order: int | None = None
    """A hint for the diagram: how far to the right it is drawn."""
    name: str = ""
    """What it is called in full."""
    toe_mm: float | None = None
    """From where the centre lines of its legs meet to the end of its toe."""

    @property
    def lies(self) -> tuple[str, ...]:
        """The lies from left to right, as seen from the toe."""
        return ("left", "middle", "right") if self.kind == "three-way" else ("left", "right")

    @property
    def legs(self) -> tuple[str, ...]:
        """The toe and the legs that it may lead to."""
        return _THREE_WAY_LEGS if self.kind == "three-way" else _TURNOUT_LEGS

    @property
    def reverse(self) -> str | None:
        """The lie that is not normal; None for three-way points, which have two."""
        if self.kind == "three-way":
            return None
        return "right" if self.normal == "left" else "left"


ACROSS = {"a1": "a2", "a2": "a1", "b1": "b2", "b2": "b1"}
"""From each leg of a crossing to the one straight across."""


class Crossing(NamedTuple):
    """Two roads that cross, a and b; a slip links a1 with b2, a double slip b1 with a2 too."""

    id: str
    kind: Literal["diamond", "single-slip", "double-slip"]
    crossing_number: float | None = None
    measure: Literal["centre-line", "right-angle"] = "centre-line"
    angle_degrees: float | None = None
    leg_mm: float | None = None
    """From where the centre lines of its roads meet to the ends of its legs."""
    order: int | None = None
    """A hint for the diagram: how far to the right it is drawn."""
    name: str = ""
    """What it is called in full."""

    @property
    def legs(self) -> tuple[str, ...]:
        """The ends of its two roads."""
        return ("a1", "a2", "b1", "b2")

    @property
    def lies(self) -> tuple[str, ...]:
        """``straight`` and ``slip`` for a slip, nothing for a diamond."""
        return () if self.kind == "diamond" else ("straight", "slip")

    @property
    def normal(self) -> str | None:
        """The normal lie of a slip: both roads straight across."""
        return None if self.kind == "diamond" else "straight"

    @property
    def reverse(self) -> str | None:
        """The reverse lie of a slip."""
        return None if self.kind == "diamond" else "slip"

    def exits(self, leg: str) -> Iterator[tuple[str, str | None]]:
        """Yield the legs that a train coming in by ``leg`` may leave by, each with the lie."""
        yield ACROSS[leg], self.normal
        for one, other in SLIP_LINKS[self.kind]:
            if leg == one:
                yield other, "slip"
            elif leg == other:
                yield one, "slip"


class Turntable(NamedTuple):
    """A turntable, traverser or sector plate: any road to any road, one train at a time."""

    id: str
    kind: Literal["turntable", "traverser", "sector-plate"]
    roads: tuple[str, ...]
    order: int | None = None
    """A hint for the diagram: how far to the right it is drawn."""
    name: str = ""
    """What it is called in full."""

    @property
    def legs(self) -> tuple[str, ...]:
        """Its roads."""
        return self.roads


class Platform(NamedTuple):
    """A platform and the tracks that it serves."""

    id: str
    tracks: tuple[str, ...]
    length_mm: float | None
    name: str


class Arm(NamedTuple):
    """One arm (or disc, or light) of a signal."""

    id: str
    signal: str
    position: int
    """Its place in the signal's list, from 0."""
    kind: ArmKind
    to: tuple[str, ...]
    doll: int
    """The doll that carries it, counted from the left as the driver sees them, from 1."""
    under: str | None
    repeats: tuple[str, ...]
    expects: Mapping[str, str]
    never_with: tuple[str, ...]
    track: str
    heading: Heading
    at_mm: float | None
    height_mm: float | None
    """Its height above the rails, on the model."""
    name: str = ""
    """Its full name; empty if the plan gives none."""

    @property
    def elsewhere(self) -> bool:
        """True if it stands on the neighbouring board, beyond a held edge."""
        return self.signal.startswith(BEYOND)


class Head(NamedTuple):
    """The arms of one post that speak to the trains of one track with one heading."""

    signal: str
    track: str
    heading: Heading
    at_mm: float | None
    arms: tuple[Arm, ...]

    def arms_of(self, kind: ArmKind) -> tuple[Arm, ...]:
        """Return its arms of one kind, from left to right."""
        return tuple(arm for arm in self.arms if arm.kind == kind)

    @property
    def elsewhere(self) -> bool:
        """True if it stands on the neighbouring board, beyond a held edge."""
        return self.signal.startswith(BEYOND)

    @property
    def pointer(self) -> str:
        """The JSON pointer of its signal; that of the held edge beyond which it stands."""
        if self.elsewhere:
            return pointer_to("edges", edge_beyond(self.signal))
        return pointer_to("signals", self.signal)

    @property
    def stops(self) -> bool:
        """True if it has a stop arm, at which every train must stop."""
        return any(arm.kind == "stop" for arm in self.arms)

    @property
    def shunts(self) -> bool:
        """True if it has a shunt arm."""
        return any(arm.kind == "shunt" for arm in self.arms)

    @property
    def holds(self) -> bool:
        """True if a train can be held at it: where it has a stop or a shunt arm."""
        return self.stops or self.shunts


class Signal(NamedTuple):
    """One post, bracket or gantry with its arms."""

    id: str
    track: str
    heading: Heading
    at_mm: float | None
    side: Literal["left", "right"] | None
    mount: Literal["post", "bracket", "gantry", "ground"]
    form: Literal["upper-quadrant", "lower-quadrant", "disc", "colour-light"]
    arms: tuple[Arm, ...]
    duties: tuple[str, ...]
    heads: tuple[Head, ...]
    from_centre_mm: float | None = None
    """From the centre of its track to the middle of its post."""
    post_mm: float | None = None
    """How thick its post is."""
    spacing_mm: float | None = None
    """Where it stands between two tracks, how far apart their centres are there."""
    name: str = ""
    """What it is called in full."""


class Yard(NamedTuple):
    """Tracks and elements worked by one engine at a time under hand signals."""

    id: str
    tracks: tuple[str, ...]
    points: tuple[str, ...]
    crossings: tuple[str, ...]
    turntables: tuple[str, ...]
    name: str


class Scene(NamedTuple):
    """One state of the layout: points that are not normal, arms that are off, trains standing."""

    id: str
    points: Mapping[str, str]
    off: tuple[str, ...]
    trains: Mapping[str, object]
    name: str = ""
    """What it is called in full."""


class SessionMove(NamedTuple):
    """One movement of a running session."""

    train: str
    start: str | None
    """Where the train is believed to stand then; ``edge:NAME`` where it comes on to the plan."""
    to: str
    """Where it is to stand next; ``edge:NAME`` where it leaves the plan."""
    via: tuple[str, ...]
    arm: str | None
    """An arm that gives leave on the way."""
    note: str


class Session(NamedTuple):
    """A running session: movements that are made one after another."""

    id: str
    name: str
    trains: Mapping[str, object]
    """Where trains stand at first."""
    moves: tuple[SessionMove, ...]


class Lever(NamedTuple):
    """One lever of the frame and what it moves."""

    number: str
    points: tuple[str, ...]
    arms: tuple[str, ...]
    name: str = ""
    """What its plate says; empty if the plan gives nothing."""

    @property
    def rank(self) -> tuple[str, int]:
        """By which levers are sorted: those of one board together, each by its number."""
        board, _, number = self.number.rpartition("/")
        return board, int(number)


class Train(NamedTuple):
    """A train that the club runs. Lengths in millimetres."""

    id: str
    length_mm: float | None
    longest_coach_mm: float | None
    name: str
    engine_mm: float | None = None


class Accepted(NamedTuple):
    """A finding that the club lives with: which rule, where, and why."""

    rule: str
    at: str
    because: str


class Layout(NamedTuple):
    """A whole plan."""

    title: str
    scale: str
    tracks: Mapping[str, Track]
    points: Mapping[str, Points]
    crossings: Mapping[str, Crossing]
    turntables: Mapping[str, Turntable]
    platforms: Mapping[str, Platform]
    signals: Mapping[str, Signal]
    worked_together: tuple[tuple[str, ...], ...]
    yards: Mapping[str, Yard]
    trains: Mapping[str, Train]
    levers: Mapping[str, Lever]
    scenes: Mapping[str, Scene]
    sessions: Mapping[str, Session]
    accept: tuple[Accepted, ...]
    boards: tuple[str, ...]
    standard: Literal["NEM", "NMRA", "British"] | None = None
    """Whose meaning of the scale's name is meant."""
    gauge_mm: float | None = None
    spacing_mm: float | None = None
    """The distance of two tracks' centres at which stock just passes."""
    edges: tuple[Edge, ...] = ()
    """What the plan says about its edges, in its order."""

    def element(self, end: End) -> tuple[ElementKind, Points | Crossing | Turntable] | None:
        """Return the element whose leg this end meets, with its kind; None if there is none.

        Where points and a crossing share an id, the leg decides between them.
        """
        if end.kind != "leg":
            return None
        kinds: tuple[tuple[ElementKind, Mapping[str, Points | Crossing | Turntable]], ...] = (
            ("points", self.points),
            ("crossings", self.crossings),
            ("turntables", self.turntables),
        )
        for kind, elements in kinds:
            element = elements.get(end.name)
            if element is not None and end.leg in element.legs:
                return kind, element
        return None

    @property
    def shortest_train_mm(self) -> float | None:
        """The length of the shortest listed train, None if no length is given."""
        lengths = [t.length_mm for t in self.trains.values() if t.length_mm is not None]
        return min(lengths, default=None)

    def switch(self, switch_id: str) -> Points | Crossing | None:
        """Return the points or the slip with this id: what has a lie; None if there is none."""
        points = self.points.get(switch_id)
        if points is not None:
            return points
        crossing = self.crossings.get(switch_id)
        return crossing if crossing is not None and crossing.lies else None

    def arms(self) -> Iterator[Arm]:
        """Yield every arm of every signal, in the order of the plan."""
        for signal in self.signals.values():
            yield from signal.arms

    def holding_heads(self) -> list[Head]:
        """Return every head at which a train can be held, in the order of the plan.

        Arms of two signals on one spot, such as a post and the disc at its foot, are one head; it
        goes by the name of the signal that has a stop arm.
        """
        found: dict[tuple[str, Heading, float], Head] = {}
        for signal in self.signals.values():
            for head in signal.heads:
                if not head.holds:
                    continue
                track = self.tracks.get(head.track)
                at = -2.0 if track is None else cut_at(head, track)
                spot = head.track, head.heading, at
                other = found.get(spot)
                if other is None:
                    found[spot] = head
                else:
                    named = head if head.stops and not other.stops else other
                    found[spot] = named._replace(arms=other.arms + head.arms)
        return list(found.values())


def cut_at(head: Head, track: Track) -> float:
    """Return where a head cuts its track, in mm from the up end; -1 where it cuts nothing off.

    A head right at the end that its trains run to cuts nothing off.
    """
    at = head.at_mm
    if at is None:
        return -1
    at_its_end = at == 0 if head.heading == "up" else at == track.length_mm
    return -1 if at_its_end else at


def lie_of(switch: Points | Crossing, word: str) -> str | None:
    """Return the lie that a word means for these points or this slip, None if it means none.

    The word may be a lie itself, or ``normal`` or ``reverse``.
    """
    if word == "normal":
        return switch.normal
    if word == "reverse":
        return switch.reverse
    return word if word in switch.lies else None


def lie_word(switch: Points | Crossing, lie: str) -> str:
    """Return ``normal`` or ``reverse`` for a lie, or the lie itself for three-way points."""
    if lie == switch.normal:
        return "normal"
    return "reverse" if lie == switch.reverse else lie
