"""Builds the network of a plan: places and states, then exits, then stands."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from trappoint.model.held_edges import with_beyond
from trappoint.model.layout import HEADINGS, cut_at, opposite
from trappoint.topology.network import Entry, Exit, Network, Place, PlaceKind, Stand
from trappoint.topology.sections import derive_sections, joint_partners, yard_members

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.model.layout import Crossing, Head, Heading, Layout, Points, Track, Turntable
    from trappoint.topology.sections import Piece


_SINGULAR = {
    "points": "points",
    "crossings": "crossing",
    "turntables": "turntable",
    "yards": "yard",
}


def build_network(layout: Layout) -> Network:
    """Return the network of a plan that the structural rules have passed."""
    return _NetworkBuilder(with_beyond(layout)).build()


class _NetworkBuilder:
    """A builder that adds places with their states, then exits, then entries and stands."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.net = Network(layout, layout.holding_heads())
        self.net.held_at = [-1] * len(self.net.heads)
        self.found = derive_sections(layout, self.net.heads)
        self.yard_of = yard_members(layout)
        self.partner = joint_partners(layout)
        self.yard_state: dict[str, int] = {}
        self.element_states: dict[tuple[str, str], dict[str, int]] = {}
        self.ends_at_leg: dict[tuple[str, str, str], tuple[Track, Heading]] = {}
        self.rings: set[int] = set()
        kinds = (layout.tracks, layout.points, layout.crossings, layout.turntables, layout.yards)
        count = Counter(id_ for things in kinds for id_ in things)
        self.shared = {id_ for id_, times in count.items() if times > 1}

    def build(self) -> Network:
        self._index_legs()
        for yard in self.layout.yards:
            self.yard_state[yard] = self._state(self._place("yards", yard), "")
        self._make_sections()
        self._make_elements()
        self._place_heads()
        self._connect_elements()
        for place, pieces in self.net.pieces.items():
            self._connect_section(place, pieces)
        self._connect_yards()
        self._find_entries()
        self._find_stands()
        self._find_drags()
        return self.net

    # --- places and states

    def _place(self, kind: PlaceKind, id_: str, part: int = 0) -> int:
        name = f"{id_}.{part}" if part else id_
        if kind != "section" and id_ in self.shared:
            name = f"{_SINGULAR[kind]}:{id_}"
        self.net.places.append(Place(kind, id_, part, name))
        self.net.is_element.append(kind not in ("section", "yards"))
        self.net.states_of.append([])
        return len(self.net.places) - 1

    def _state(self, place: int, way: str) -> int:
        net = self.net
        net.place_of.append(place)
        net.way.append(way)
        net.exits.append(())
        net.terminal.append(False)
        net.leaves.append(False)
        net.limit.append(False)
        net.facing.append(-1)
        net.states_of[place].append(len(net.place_of) - 1)
        return len(net.place_of) - 1

    def _index_legs(self) -> None:
        for track in self.layout.tracks.values():
            for heading in HEADINGS:
                end = track.end(heading)
                element = self.layout.element(end)
                if element is not None:
                    # A train that comes in at this end runs away from it.
                    entry = (track, opposite(heading))
                    self.ends_at_leg[element[0], end.name, end.leg] = entry

    def _make_sections(self) -> None:
        net, found = self.net, self.found
        for track_id, cuts in found.cuts.items():
            in_yard = ("tracks", track_id) in self.yard_of
            if cuts or not in_yard:
                net.cuts[track_id] = cuts
                net.sections[track_id] = [{} for _ in range(len(cuts) + 1)]
                if in_yard:
                    state = self.yard_state[self.yard_of["tracks", track_id]]
                    both: dict[Heading, int] = {"down": state, "up": state}
                    net.sections[track_id][found.yard_part[track_id]] = both
        for named, section in found.all:
            part = named.part + 1 if found.cuts[named.track] else 0
            place = self._place("section", named.track, part)
            states = {heading: self._state(place, heading) for heading in HEADINGS}
            net.pieces[place] = section.pieces
            if section.ring:
                self.rings.add(place)
            for piece in section.pieces:
                net.sections[piece.track][piece.part] = {
                    piece.heading(heading): state for heading, state in states.items()
                }

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

    def _place_heads(self) -> None:
        """Set the state in which each head holds a train, and pair heads back to back."""
        net, exit_heads = self.net, set(self.found.exit_heads.values())
        at_spot: dict[tuple[str, float], int] = {}
        net.opposed = [-1] * len(net.heads)
        for number, head in enumerate(net.heads):
            track = self.layout.tracks[head.track]
            at = cut_at(head, track)
            state = self._held_at(number, head, track, at)
            net.held_at[number] = state
            if state < 0:
                continue
            if number not in exit_heads:
                net.facing[state] = number
            end = track.end(head.heading)
            spot = (track.id, at) if at >= 0 else (end.text, -1.0)
            if at < 0 and end.kind != "joint":
                continue
            other = at_spot.setdefault(spot, number)
            if other != number:
                net.opposed[number], net.opposed[other] = other, number

    def _held_at(self, number: int, head: Head, track: Track, at: float) -> int:
        yard = self.yard_of.get(("tracks", track.id))
        if yard is not None:
            if self.found.exit_heads.get((track.id, head.heading)) == number:
                return self.yard_state[yard]
            if at not in self.found.cuts[track.id]:
                return -1
        cuts = self.found.cuts[track.id]
        if at < 0:
            part = len(cuts) if head.heading == "down" else 0
        else:
            part = cuts.index(at) + (head.heading == "up")
        return self.net.sections[track.id][part][head.heading]

    # --- moves

    def _enter(self, track: Track, heading: Heading) -> int | None:
        """Return the state of a train that enters a track; None if ``running`` forbids it."""
        if not track.allows(heading):
            return None
        sections = self.net.sections.get(track.id)
        if sections is None:
            return self.yard_state[self.yard_of["tracks", track.id]]
        return sections[0 if heading == "down" else -1][heading]

    def _beyond(self, track: Track, heading: Heading) -> tuple[int | None, list[str]]:
        """Return the state beyond the end of a track that a train runs to, and the barred tracks.

        The state is None if the track ends there, or if the ``running`` of the tracks beyond
        forbids the move; only then are there barred tracks.
        """
        end = track.end(heading)
        if end.kind == "joint":
            other_id, towards = self.partner[track.id, heading]
            onward = self._enter(self.layout.tracks[other_id], opposite(towards))
            return onward, [other_id] if onward is None else []
        found = self.layout.element(end)
        if found is None:
            return None, []
        kind, element = found
        yard = self.yard_of.get((kind, element.id))
        if yard is not None:
            barred = self._barred_beyond(kind, element.id, end.leg)
            return (self.yard_state[yard], []) if barred is None else (None, barred)
        state = self.element_states[kind, element.id][end.leg]
        if not self.net.exits[state]:
            return None, self.net.barred.get(state, [])
        return state, []

    def _barred_beyond(self, kind: str, id_: str, leg: str) -> list[str] | None:
        """Return the tracks that bar all ways through an element; None if a way is open."""
        beyond = [
            self.ends_at_leg[kind, id_, leg_out]
            for leg_out, _ in self._ways_through(kind, id_, leg)
        ]
        if any(track.allows(heading) for track, heading in beyond):
            return None
        return [track.id for track, _ in beyond]

    def _connect_elements(self) -> None:
        for (kind, id_), states in self.element_states.items():
            for leg, state in states.items():
                exits = []
                ways = list(self._ways_through(kind, id_, leg))
                for leg_out, lie in ways:
                    track, heading = self.ends_at_leg[kind, id_, leg_out]
                    onward = self._enter(track, heading)
                    if onward is not None:
                        element = self.net.place_of[state] if lie else -1
                        exits.append(Exit(onward, element, lie or "", facing=len(ways) > 1))
                    else:
                        self.net.barred.setdefault(state, []).append(track.id)
                self.net.exits[state] = tuple(exits)

    def _connect_section(self, place: int, pieces: tuple[Piece, ...]) -> None:
        net = self.net
        for state in net.states_of[place]:
            piece, heading = net.last_piece(state)
            track = self.layout.tracks[piece.track]
            if not track.allows(heading):
                continue
            last = len(net.cuts[track.id]) if heading == "down" else 0
            barred: list[str] = []
            onward: int | None
            if piece.part != last:
                step = 1 if heading == "down" else -1
                onward = net.sections[track.id][piece.part + step][heading]
            elif place in self.rings:
                continue  # The section is a ring: it has no end.
            else:
                kind = track.end(heading).kind
                net.terminal[state] = kind in ("buffer", "edge")
                net.leaves[state] = kind == "edge" and net.facing[state] < 0
                onward, barred = self._beyond(track, heading)
            if barred:
                net.barred[state] = barred
            if onward is not None:
                net.exits[state] = (Exit(onward, head=net.facing[state]),)
            else:
                net.limit[state] = not net.terminal[state]

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

    def _connect_yards(self) -> None:
        for yard in self.layout.yards.values():
            state = self.yard_state[yard.id]
            exits: list[Exit] = []
            for track_id in yard.tracks:
                exits += self._exits_by_track(state, self.layout.tracks[track_id])
            for kind in ("points", "crossings", "turntables"):
                for id_ in getattr(yard, kind):
                    exits += self._exits_by_element(state, kind, id_)
            self.net.exits[state] = tuple(exits)

    def _exits_by_track(self, state: int, track: Track) -> Iterator[Exit]:
        net = self.net
        for heading in track.headings:
            head = self.found.exit_heads.get((track.id, heading), -1)
            sections = net.sections.get(track.id)
            onward: int | None
            if sections is not None and sections[-1 if heading == "down" else 0][heading] != state:
                step = 1 if heading == "down" else -1
                part = self.found.yard_part[track.id] + step
                onward = sections[part][heading]
            else:
                onward, _ = self._beyond(track, heading)
                if track.end(heading).kind == "edge" and head < 0:
                    net.leaves[state] = True
            if onward is not None and onward != state:
                yield Exit(onward, head=head)

    def _exits_by_element(self, state: int, kind: str, id_: str) -> Iterator[Exit]:
        for leg in getattr(self.layout, kind)[id_].legs:
            track, heading = self.ends_at_leg[kind, id_, leg]
            onward = self._enter(track, heading)
            if onward is not None and onward != state:
                yield Exit(onward)

    # --- edges, stands, drags

    def _find_entries(self) -> None:
        for track in self.layout.tracks.values():
            for heading in HEADINGS:
                end = track.end(opposite(heading))
                if end.kind == "edge":
                    state = self._enter(track, heading)
                    if state is not None:
                        self.net.entries.append(Entry(end.name, state))

    def _find_stands(self) -> None:
        net = self.net
        for place, described in enumerate(net.places):
            if described.kind == "yards":
                states = tuple(net.states_of[place])
            elif described.kind == "section" and self._is_stand(place):
                named = self.layout.tracks[described.id]
                states = tuple(s for s in net.states_of[place] if net.way[s] in named.headings)
            else:
                continue
            net.stand_at[place] = len(net.stands)
            net.stands.append(Stand(place, states))

    def _is_stand(self, place: int) -> bool:
        return any(
            self._makes_a_stand(piece) and not self._is_stub(place, piece)
            for piece in self.net.pieces[place]
        )

    def _makes_a_stand(self, piece: Piece) -> bool:
        track = self.layout.tracks[piece.track]
        if not track.stand or track.stands_whole:
            return track.stand
        last = len(self.net.cuts[track.id])
        return (piece.part == 0 and track.up.kind in ("buffer", "edge")) or (
            piece.part == last and track.down.kind in ("buffer", "edge")
        )

    def _is_stub(self, place: int, piece: Piece) -> bool:
        """Return whether a piece is only the rest of a track past a head, too short for any train.

        Without a known length the piece counts as too short.
        """
        net, track = self.net, self.layout.tracks[piece.track]
        for heading in track.headings:
            before = piece.part + (-1 if heading == "down" else 1)
            if not 0 <= before <= len(net.cuts[track.id]):
                continue
            state = net.sections[track.id][piece.part][heading]
            passed = net.facing[net.sections[track.id][before][heading]]
            if self.found.yard_part.get(track.id) == before:
                passed = self.found.exit_heads.get((track.id, heading), -1)
            if passed >= 0 and net.facing[state] < 0 and not net.terminal[state]:
                room = self._length(place)
                shortest = self.layout.shortest_train_mm
                if room is None or shortest is None or shortest > room:
                    return True
        return False

    def _length(self, place: int) -> float | None:
        lengths = [
            self.found.length(self.layout, piece.track, piece.part)
            for piece in self.net.pieces[place]
        ]
        known = [length for length in lengths if length is not None]
        return sum(known) if len(known) == len(lengths) else None

    def _find_drags(self) -> None:
        net = self.net
        for points in self.layout.points.values():
            for leg in points.lies if points.trap else ():
                state = self._enter(*self.ends_at_leg["points", points.id, leg])
                if state is None or net.place(state).kind != "section":
                    continue
                if self._ends_at_buffer(state) and net.place_of[state] not in net.stand_at:
                    net.drags.add(net.place_of[state])

    def _ends_at_buffer(self, state: int) -> bool:
        piece, heading = self.net.last_piece(state)
        return self.net.terminal[state] and (
            self.layout.tracks[piece.track].end(heading).kind == "buffer"
        )
