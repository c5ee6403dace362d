"""Places and moves: where one train at a time may be, and where it may go from there.

A *place* is a section of a track (a track is cut where a signal can hold a train), an element
(points, crossing, turntable) or a yard. A *state* is a place together with the way a train is in
it: in a section the heading, in an element the leg by which it came in, in a yard nothing. An
*exit* leads from a state to the next one; it says which lie it needs and which signal must be
passed. What can hold a train is a *head*: the stop and shunt arms of one post that speak to the
trains of one track with one heading. States, places and heads are numbered, so that what follows
can work with plain lists.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.findings import pointer_to
from trappoint.layout import HEADINGS, Crossing, Points, opposite

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.layout import End, Head, Heading, Layout, Track, Turntable

PlaceKind = Literal["section", "points", "crossings", "turntables", "yards"]

_SINGULAR = {
    "points": "points",
    "crossings": "crossing",
    "turntables": "turntable",
    "yards": "yard",
}


class Place(NamedTuple):
    """What one train at a time may have."""

    kind: PlaceKind
    id: str
    """The id of the track, the element or the yard."""
    part: int
    """For a section of a cut track its number from the up end, from 1; otherwise 0."""
    name: str
    """Unique over the plan; for most places the id itself."""

    @property
    def pointer(self) -> str:
        """The JSON pointer of the track, element or yard."""
        return pointer_to("tracks" if self.kind == "section" else self.kind, self.id)


class Exit(NamedTuple):
    """One move out of a state."""

    to: int
    """The state that it leads to."""
    element: int = -1
    """The place of the element whose lie it needs; -1 where it needs none."""
    lie: str = ""
    head: int = -1
    """The head that must be passed; -1 where none faces the train."""


class Stand(NamedTuple):
    """Where a train may stand and set off again."""

    place: int
    states: tuple[int, ...]
    """The states that a train takes when it sets off: one for each heading allowed."""


@dataclass(slots=True)
class Network:
    """All places, states and moves of a plan. Built once, then only read."""

    layout: Layout
    places: list[Place] = field(default_factory=list)
    place_of: list[int] = field(default_factory=list)
    """The place of each state."""
    way: list[str] = field(default_factory=list)
    """The heading (sections), the leg come in by (elements) or nothing (yards) of each state."""
    exits: list[tuple[Exit, ...]] = field(default_factory=list)
    """The moves out of each state, from left to right where points lead to several."""
    terminal: list[bool] = field(default_factory=list)
    """True for the states in which the track ends before the train: buffer or edge."""
    heads: list[Head] = field(default_factory=list)
    held_at: list[int] = field(default_factory=list)
    """The state in which each head holds a train; -1 for a head without effect in a yard."""
    facing: list[int] = field(default_factory=list)
    """The head that faces a train in each state of a section; -1 where there is none."""
    stands: list[Stand] = field(default_factory=list)
    stand_at: dict[int, int] = field(default_factory=dict)
    """From a place to the number of its stand."""
    states_of: list[list[int]] = field(default_factory=list)
    """The states of each place."""
    sections: dict[str, list[dict[Heading, int]]] = field(default_factory=dict)
    """The states of each track outside yards: section by section from the up end."""
    barred: dict[int, list[str]] = field(default_factory=dict)
    """From a state to the tracks beyond it that trains may not run on to, by their `running`."""
    trap_roads: set[int] = field(default_factory=set)
    """The places that only catch what trap points turn aside."""
    cuts: dict[str, list[float]] = field(default_factory=dict)
    """Where each of them is cut, in mm from the up end."""

    def starts(self, head: int) -> tuple[Exit, ...]:
        """Return the exits that lead past a head."""
        state = self.held_at[head]
        if state < 0:
            return ()
        return tuple(exit_ for exit_ in self.exits[state] if exit_.head == head)

    def section_state(self, track: str, heading: Heading, at_mm: float | None) -> int | None:
        """Return the state of a train beside a post on a track; None on a track in a yard.

        ``at_mm`` is measured from the track's up end; None is right at the end run to.
        """
        sections = self.sections.get(track)
        if sections is None:
            return None
        if at_mm is None:
            return sections[-1 if heading == "down" else 0][heading]
        beside = bisect_left if heading == "down" else bisect_right
        return sections[beside(self.cuts[track], at_mm)][heading]

    def place(self, state: int) -> Place:
        """Return the place of a state."""
        return self.places[self.place_of[state]]

    def heading(self, state: int) -> Heading | None:
        """Return the heading of a state in a section, None elsewhere."""
        if self.place(state).kind != "section":
            return None
        return "down" if self.way[state] == "down" else "up"


def build_network(layout: Layout) -> Network:
    """Derive the places and moves of a plan that its structural rules have passed."""
    return _Builder(layout).build()


class _Builder:
    """Builds a network in three sweeps: places with their states, then exits, then stands."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.net = Network(layout)
        self.yard_of: dict[tuple[str, str], str] = {}
        self.yard_state: dict[str, int] = {}
        self.element_states: dict[tuple[str, str], dict[str, int]] = {}
        self.ends_at_joint: dict[str, list[tuple[Track, Heading]]] = {}
        self.ends_at_leg: dict[tuple[str, str, str], tuple[Track, Heading]] = {}
        self.head_at: dict[tuple[str, int, Heading], int] = {}
        self.names: set[str] = set()

    def build(self) -> Network:
        self._index_yards()
        self._index_ends()
        for yard in self.layout.yards:
            self.yard_state[yard] = self._state(self._place("yards", yard), "")
        yard_heads = self._make_sections()
        self._make_elements()
        self._connect_sections()
        self._connect_elements()
        self._connect_yards(yard_heads)
        self._find_stands()
        return self.net

    # --- places and states

    def _place(self, kind: PlaceKind, id_: str, part: int = 0) -> int:
        name = f"{id_}.{part}" if part else id_
        if name in self.names:
            name = f"{_SINGULAR.get(kind, kind)}:{id_}"
        self.names.add(name)
        self.net.places.append(Place(kind, id_, part, name))
        self.net.states_of.append([])
        return len(self.net.places) - 1

    def _state(self, place: int, way: str) -> int:
        net = self.net
        net.place_of.append(place)
        net.way.append(way)
        net.exits.append(())
        net.terminal.append(False)
        net.facing.append(-1)
        net.states_of[place].append(len(net.place_of) - 1)
        return len(net.place_of) - 1

    def _index_yards(self) -> None:
        for yard in self.layout.yards.values():
            for kind in ("tracks", "points", "crossings", "turntables"):
                for id_ in getattr(yard, kind):
                    self.yard_of[kind, id_] = yard.id

    def _index_ends(self) -> None:
        for track in self.layout.tracks.values():
            for heading in HEADINGS:
                end = track.end(heading)
                # A train that comes in at this end runs away from it.
                entry = (track, opposite(heading))
                if end.kind == "joint":
                    self.ends_at_joint.setdefault(end.name, []).append(entry)
                elif end.kind == "leg":
                    found = self.layout.element(end)
                    if found is not None:
                        self.ends_at_leg[found[0], end.name, end.leg] = entry

    def _make_sections(self) -> dict[str, list[int]]:
        """Make the sections of every track outside yards; return the heads on yard tracks."""
        on_track: dict[str, list[int]] = {}
        yard_heads: dict[str, list[int]] = {}
        for head in self.layout.holding_heads():
            self.net.heads.append(head)
            self.net.held_at.append(-1)
            number = len(self.net.heads) - 1
            yard = self.yard_of.get(("tracks", head.track))
            if yard is None:
                on_track.setdefault(head.track, []).append(number)
            else:
                yard_heads.setdefault(head.track, []).append(number)
        for track in self.layout.tracks.values():
            if ("tracks", track.id) not in self.yard_of:
                self._make_sections_of(track, on_track.get(track.id, []))
        return yard_heads

    def _make_sections_of(self, track: Track, heads: list[int]) -> None:
        cuts = sorted(
            {at for number in heads if (at := cut_at(self.net.heads[number], track)) >= 0}
        )
        count = len(cuts) + 1
        states: list[dict[Heading, int]] = []
        trap_road = self.layout.is_trap_road(track)
        for part in range(count):
            place = self._place("section", track.id, part + 1 if cuts else 0)
            states.append({heading: self._state(place, heading) for heading in HEADINGS})
            if trap_road:
                self.net.trap_roads.add(place)
        self.net.sections[track.id] = states
        self.net.cuts[track.id] = cuts
        part_of = {cut: part for part, cut in enumerate(cuts)}
        for number in heads:
            head = self.net.heads[number]
            at = cut_at(head, track)
            if head.heading == "down":
                part = part_of[at] if at >= 0 else count - 1
            else:
                part = part_of[at] + 1 if at >= 0 else 0
            self.head_at[track.id, part, head.heading] = number
            self.net.held_at[number] = states[part][head.heading]
            self.net.facing[states[part][head.heading]] = number

    def _make_elements(self) -> None:
        groups: tuple[tuple[PlaceKind, dict[str, Points | Crossing | Turntable]], ...] = (
            ("points", dict(self.layout.points)),
            ("crossings", dict(self.layout.crossings)),
            ("turntables", dict(self.layout.turntables)),
        )
        for kind, elements in groups:
            for element in elements.values():
                if (kind, element.id) not in self.yard_of:
                    place = self._place(kind, element.id)
                    self.element_states[kind, element.id] = {
                        leg: self._state(place, leg) for leg in element.legs
                    }

    # --- moves

    def _enter(self, track: Track, heading: Heading) -> int | None:
        """Return the state of a train that comes on to a track, None where that is forbidden."""
        if not track.allows(heading):
            return None
        yard = self.yard_of.get(("tracks", track.id))
        if yard is not None:
            return self.yard_state[yard]
        return self.net.sections[track.id][0 if heading == "down" else -1][heading]

    def _beyond(self, track: Track, heading: Heading) -> int | None:
        """Return the state beyond the end of a track that a train runs to."""
        end = track.end(heading)
        if end.kind == "joint":
            for other, entered in self.ends_at_joint[end.name]:
                if (other.id, entered) != (track.id, opposite(heading)):
                    return self._enter(other, entered)
            return None
        found = self.layout.element(end)
        if found is None:
            return None
        kind, element = found
        yard = self.yard_of.get((kind, element.id))
        if yard is not None:
            return self.yard_state[yard]
        return self.element_states[kind, element.id][end.leg]

    def _connect_sections(self) -> None:
        for track_id, sections in self.net.sections.items():
            track = self.layout.tracks[track_id]
            for heading in track.headings:
                ordered = sections if heading == "down" else sections[::-1]
                for position, section in enumerate(ordered):
                    state = section[heading]
                    if position + 1 < len(ordered):
                        onward: int | None = ordered[position + 1][heading]
                    else:
                        onward = self._beyond(track, heading)
                        end: End = track.end(heading)
                        self.net.terminal[state] = end.kind in ("buffer", "edge")
                        if end.kind == "joint" and onward is None:
                            ends = self.ends_at_joint[end.name]
                            beyond = [t.id for t, entered in ends if not t.allows(entered)]
                            self.net.barred[state] = beyond
                    if onward is not None:
                        self.net.exits[state] = (Exit(onward, head=self.net.facing[state]),)

    def _connect_elements(self) -> None:
        for (kind, id_), states in self.element_states.items():
            for leg, state in states.items():
                exits = []
                for leg_out, lie in self._ways_through(kind, id_, leg):
                    track, heading = self.ends_at_leg[kind, id_, leg_out]
                    onward = self._enter(track, heading)
                    if onward is not None:
                        element = self.net.place_of[state] if lie else -1
                        exits.append(Exit(onward, element, lie or ""))
                    else:
                        self.net.barred.setdefault(state, []).append(track.id)
                self.net.exits[state] = tuple(exits)

    def _ways_through(self, kind: str, id_: str, leg: str) -> Iterator[tuple[str, str | None]]:
        if kind == "points":
            if leg == "toe":
                yield from ((lie, lie) for lie in self.layout.points[id_].lies)
            else:
                yield "toe", leg
        elif kind == "crossings":
            yield from self.layout.crossings[id_].exits(leg)
        else:
            yield from ((road, None) for road in self.layout.turntables[id_].roads)

    def _connect_yards(self, yard_heads: dict[str, list[int]]) -> None:
        for yard in self.layout.yards.values():
            state = self.yard_state[yard.id]
            exits: list[Exit] = []
            for track_id in yard.tracks:
                exits += self._exits_by_track(yard.id, track_id, yard_heads.get(track_id, []))
            for kind in ("points", "crossings", "turntables"):
                for id_ in getattr(yard, kind):
                    exits += self._exits_by_element(yard.id, kind, id_)
            self.net.exits[state] = tuple(exits)

    def _exits_by_track(self, yard: str, track_id: str, heads: list[int]) -> Iterator[Exit]:
        track = self.layout.tracks[track_id]
        for heading in track.headings:
            onward = self._beyond(track, heading)
            if onward is None or onward == self.yard_state[yard]:
                continue
            facing = [number for number in heads if self.net.heads[number].heading == heading]
            head = max(facing, key=self._nearness, default=-1)
            if head >= 0:
                self.net.held_at[head] = self.yard_state[yard]
            yield Exit(onward, head=head)

    def _nearness(self, number: int) -> float:
        head = self.net.heads[number]
        if head.at_mm is None:
            return float("inf")
        return head.at_mm if head.heading == "down" else -head.at_mm

    def _exits_by_element(self, yard: str, kind: str, id_: str) -> Iterator[Exit]:
        for leg in getattr(self.layout, kind)[id_].legs:
            track, heading = self.ends_at_leg[kind, id_, leg]
            onward = self._enter(track, heading)
            if onward is not None and onward != self.yard_state[yard]:
                yield Exit(onward)

    def _find_stands(self) -> None:
        net = self.net
        for place, described in enumerate(net.places):
            if described.kind == "yards":
                states = tuple(net.states_of[place])
            elif described.kind == "section" and self.layout.tracks[described.id].stand:
                track = self.layout.tracks[described.id]
                states = tuple(s for s in net.states_of[place] if net.way[s] in track.headings)
            else:
                continue
            net.stand_at[place] = len(net.stands)
            net.stands.append(Stand(place, states))


def cut_at(head: Head, track: Track) -> float:
    """Return where a head cuts its track, in mm from the up end; -1 where it cuts nothing off.

    A head right at the end that its trains run to cuts nothing off.
    """
    at = head.at_mm
    if at is None:
        return -1
    at_its_end = at == 0 if head.heading == "up" else at == track.length_mm
    return -1 if at_its_end else at
