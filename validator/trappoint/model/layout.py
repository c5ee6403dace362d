"""The layout as immutable types: tracks, points, crossings, turntables, signals and the rest.

The values are those that the author wrote, with the defaults filled in. Things refer to each other
by id; the rules check that the ids exist.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.core.findings import pointer_to

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

Heading = Literal["down", "up"]
Hand = Literal["left", "right"]
ElementKind = Literal["points", "crossings", "turntables"]
ArmKind = Literal["stop", "distant", "calling-on", "shunt"]

BEYOND = "edge:"
"""The prefix of ids added beyond held edges (see ``held_edges``); a plan cannot use it."""

HEADINGS: tuple[Heading, Heading] = ("down", "up")

HOLDING: tuple[ArmKind, ArmKind] = ("stop", "shunt")
"""The kinds of arm that can hold a train."""

SLIP_LINKS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "diamond": (),
    "single-slip": (("a1", "b2"),),
    "double-slip": (("a1", "b2"), ("b1", "a2")),
}
"""The pairs of legs that the slip rails of each kind of crossing link."""


def edge_beyond(name: str) -> str:
    """Return the name of the edge beyond which the thing with this id lies."""
    return name.removeprefix(BEYOND).partition(".")[0]


def opposite(heading: Heading) -> Heading:
    """Return the other heading."""
    return "up" if heading == "down" else "down"


class End(NamedTuple):
    """The end of a track: the leg, joint, buffer or edge that it meets."""

    text: str
    """As written in the plan."""
    kind: Literal["leg", "joint", "buffer", "edge"]
    name: str = ""
    """The element's id, or the name of the joint or edge."""
    leg: str = ""


class Track(NamedTuple):
    """A piece of plain line between two ends, with lengths in mm."""

    id: str
    up: End
    down: End
    running: Literal["both", "down", "up"]
    stand: bool
    """True if trains may stand here and set off again (given, or by default)."""
    length_mm: float | None
    radius_mm: float | None
    gradient_percent: float | None
    name: str
    rank: int | None
    """The importance of the track, 1 being the highest; None if the plan gives none."""
    lane: int | None = None
    """A hint for the diagram: the number of its lane; larger numbers are lower."""
    stand_by: Literal["", "said", "platform", "end"] = ""
    """What makes it a stand: its key ``stand`` (``said``), a platform or an end; else empty."""
    curve: Hand | None = None
    """The hand to which it curves from end to end with its radius, for a train running down."""

    @property
    def stands_whole(self) -> bool:
        """True if all its pieces are stands, not only the piece at a buffer or an edge."""
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
    """An entry of the plan for one of its edges."""

    name: str
    """The ``NAME`` of ``edge:NAME``."""
    held: bool
    """True if a stop signal on the neighbouring board holds the trains that come on here."""
    title: str = ""
    """Its full name; empty if the plan gives none."""


class LegCurve(NamedTuple):
    """A leg of points that curves from the place where the centre lines part to its end."""

    leg: str
    hand: Hand
    """As seen from the toe."""
    radius_mm: float


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
    """From the point where the centre lines of its legs meet to the ends of the legs, in mm."""
    order: int | None = None
    """A hint for the diagram: its place in the order from left to right."""
    name: str = ""
    """Its full name; empty if the plan gives none."""
    toe_mm: float | None = None
    """From the point where the centre lines of its legs meet to the end of its toe, in mm."""
    curves: tuple[LegCurve, ...] = ()
    """The legs that curve from where the centre lines part; then the points have no angle."""

    @property
    def lies(self) -> tuple[str, ...]:
        """The lies from left to right, as seen from the toe."""
        return ("left", "middle", "right") if self.kind == "three-way" else ("left", "right")

    @property
    def legs(self) -> tuple[str, ...]:
        """The toe and the legs that it can lead to."""
        return _THREE_WAY_LEGS if self.kind == "three-way" else _TURNOUT_LEGS

    @property
    def reverse(self) -> str | None:
        """The lie that is not normal; None for three-way points, which have two such lies."""
        if self.kind == "three-way":
            return None
        return "right" if self.normal == "left" else "left"


ACROSS = {"a1": "a2", "a2": "a1", "b1": "b2", "b2": "b1"}
"""For each leg of a crossing, the leg straight across."""


class Crossing(NamedTuple):
    """Two roads that cross, a and b. A slip also links a1 with b2, a double slip b1 with a2 too."""

    id: str
    kind: Literal["diamond", "single-slip", "double-slip"]
    crossing_number: float | None = None
    measure: Literal["centre-line", "right-angle"] = "centre-line"
    angle_degrees: float | None = None
    leg_mm: float | None = None
    """From the point where the centre lines of its roads meet to the ends of its legs, in mm."""
    order: int | None = None
    """A hint for the diagram: its place in the order from left to right."""
    name: str = ""
    """Its full name; empty if the plan gives none."""

    @property
    def legs(self) -> tuple[str, ...]:
        """The ends of its two roads."""
        return ("a1", "a2", "b1", "b2")

    @property
    def lies(self) -> tuple[str, ...]:
        """``straight`` and ``slip`` for a slip; empty for a diamond."""
        return () if self.kind == "diamond" else ("straight", "slip")

    @property
    def normal(self) -> str | None:
        """The normal lie of a slip, straight across on both roads; None for a diamond."""
        return None if self.kind == "diamond" else "straight"

    @property
    def reverse(self) -> str | None:
        """The reverse lie of a slip; None for a diamond."""
        return None if self.kind == "diamond" else "slip"

    def exits(self, leg: str) -> Iterator[tuple[str, str | None]]:
        """Yield each leg by which a train from ``leg`` can leave, with the lie; None for no lie."""
        yield ACROSS[leg], self.normal
        for one, other in SLIP_LINKS[self.kind]:
            if leg == one:
                yield other, "slip"
            elif leg == other:
                yield one, "slip"


class Turntable(NamedTuple):
    """A turntable, traverser or sector plate. It links any two of its roads for one train."""

    id: str
    kind: Literal["turntable", "traverser", "sector-plate"]
    roads: tuple[str, ...]
    order: int | None = None
    """A hint for the diagram: its place in the order from left to right."""
    name: str = ""
    """Its full name; empty if the plan gives none."""

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
    """Its index in the signal's list, from 0."""
    kind: ArmKind
    to: tuple[str, ...]
    doll: int
    """The number of its doll, from 1, counted from the left as the driver sees them."""
    under: str | None
    repeats: tuple[str, ...]
    expects: Mapping[str, str]
    never_with: tuple[str, ...]
    track: str
    heading: Heading
    at_mm: float | None
    height_mm: float | None
    """Its height above the rails on the model, in mm."""
    name: str = ""
    """Its full name; empty if the plan gives none."""

    @property
    def elsewhere(self) -> bool:
        """True if it is on the neighbouring board, beyond a held edge."""
        return self.signal.startswith(BEYOND)


class Head(NamedTuple):
    """The arms of one post for the trains of one track with one heading."""

    signal: str
    track: str
    heading: Heading
    at_mm: float | None
    arms: tuple[Arm, ...]

    def arms_of(self, kind: ArmKind) -> tuple[Arm, ...]:
        """Return the arms of one kind, from left to right."""
        return tuple(arm for arm in self.arms if arm.kind == kind)

    @property
    def elsewhere(self) -> bool:
        """True if it is on the neighbouring board, beyond a held edge."""
        return self.signal.startswith(BEYOND)

    @property
    def pointer(self) -> str:
        """The JSON pointer of its signal, or of the held edge if the signal is beyond one."""
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
        """True if it can hold a train: it has a stop or a shunt arm."""
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
    """From the centre of its track to the middle of its post, in mm."""
    post_mm: float | None = None
    """The thickness of its post, in mm."""
    spacing_mm: float | None = None
    """If it stands between two tracks, the distance between their centres there, in mm."""
    name: str = ""
    """Its full name; empty if the plan gives none."""


class Yard(NamedTuple):
    """Tracks and elements worked by one engine at a time under hand signals."""

    id: str
    tracks: tuple[str, ...]
    points: tuple[str, ...]
    crossings: tuple[str, ...]
    turntables: tuple[str, ...]
    name: str


class Scene(NamedTuple):
    """One state of the layout: points not normal, arms off, and trains where they stand."""

    id: str
    points: Mapping[str, str]
    off: tuple[str, ...]
    trains: Mapping[str, object]
    name: str = ""
    """Its full name; empty if the plan gives none."""


class SessionMove(NamedTuple):
    """One movement of a running session."""

    train: str
    start: str | None
    """The stand it leaves, or the ``edge:NAME`` it comes on by; None if the plan gives none."""
    to: str
    """The stand it runs to, or the ``edge:NAME`` by which it leaves the plan."""
    via: tuple[str, ...]
    arm: str | None
    """An arm that gives leave on the way; None if the plan names none."""
    note: str


class Session(NamedTuple):
    """A running session: movements made one after another."""

    id: str
    name: str
    trains: Mapping[str, object]
    """The trains at the start, by stand."""
    moves: tuple[SessionMove, ...]


class Lever(NamedTuple):
    """A lever of the frame, with the points and arms that it works."""

    number: str
    points: tuple[str, ...]
    arms: tuple[str, ...]
    name: str = ""
    """The text on its plate; empty if the plan gives none."""

    @property
    def rank(self) -> tuple[str, int]:
        """The key to sort levers by: the board, then the number."""
        board, _, number = self.number.rpartition("/")
        return board, int(number)


class Train(NamedTuple):
    """A train that the club runs, with lengths in mm."""

    id: str
    length_mm: float | None
    longest_coach_mm: float | None
    name: str
    engine_mm: float | None = None


class Accepted(NamedTuple):
    """A finding that the club accepts: its rule, its place and the reason."""

    rule: str
    at: str
    because: str


class Layout(NamedTuple):
    """A plan in typed form."""

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
    """The standard that defines the scale's name; None if the plan does not give it."""
    gauge_mm: float | None = None
    spacing_mm: float | None = None
    """The smallest distance between two tracks' centres at which stock passes, in mm."""
    edges: tuple[Edge, ...] = ()
    """The plan's entries for its edges, in the order of the plan."""

    def element(self, end: End) -> tuple[ElementKind, Points | Crossing | Turntable] | None:
        """Return the element whose leg this end meets, with its kind; None if there is none.

        If points and a crossing share an id, the leg decides between them.
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
        """The length of the shortest train in mm; None if no train has a length."""
        lengths = [t.length_mm for t in self.trains.values() if t.length_mm is not None]
        return min(lengths, default=None)

    def switch(self, switch_id: str) -> Points | Crossing | None:
        """Return the points or the slip with this id; None if there are none."""
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
        """Return every head that can hold a train, in the order of the plan.

        Arms of two signals on one spot, such as a post and the disc at its foot, are one head. Its
        ``signal`` is the one that has a stop arm.
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
    """Return where a head cuts its track, in mm from the up end; -1 if it makes no cut.

    A head right at the end that its trains run to makes no cut.
    """
    at = head.at_mm
    if at is None:
        return -1
    at_its_end = at == 0 if head.heading == "up" else at == track.length_mm
    return -1 if at_its_end else at


def lie_of(switch: Points | Crossing, word: str) -> str | None:
    """Return the lie that a word means for these points or this slip; None if it has no such lie.

    The word may be a lie itself, or ``normal`` or ``reverse``.
    """
    if word == "normal":
        return switch.normal
    if word == "reverse":
        return switch.reverse
    return word if word in switch.lies else None


def lie_word(switch: Points | Crossing, lie: str) -> str:
    """Return ``normal`` or ``reverse`` for a lie; the lie itself if it is neither (three-way)."""
    if lie == switch.normal:
        return "normal"
    return "reverse" if lie == switch.reverse else lie
