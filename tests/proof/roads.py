"""The ground of a plan, from its plain JSON: places, moves, stands, edges and lever groups.

Written from the format's page alone ("Moves", "Edges", "Worked together"). A *spot* is a place with
the way of a train in it: its heading in a section, the leg by which it entered an element, or
nothing in a yard or before it sets off.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any, NamedTuple

from proof.held import with_held_edges
from proof.pieces import (
    AWAY,
    ELEMENTS,
    HEADINGS,
    Head,
    Piece,
    Pieces,
    Plan,
    Section,
    ends_there,
    legs_of,
    lies_of,
)

Spot = tuple[str, str]
Lies = Mapping[str, str]
"""The lies of points and slips, or of lever groups."""

Passing = tuple[str, str]
"""A joint, a cut or an end of a track, and the direction in which a train passes it."""


class Way(NamedTuple):
    """A move: its end, the joints and cuts that it passes, and the points or slip that it needs."""

    to: Spot
    passes: Passing
    switch: str = ""
    lie: str = ""
    facing: bool = False
    """True if the train meets the points or slip facing."""


class Gate(NamedTuple):
    """A way out of a spot, and the head that guards it."""

    head: Head | None
    ways: tuple[Way, ...]
    leaves: bool = False
    """True if it leads out of the plan."""


class Roads:
    """All moves of one train on a plan."""

    def __init__(self, plan: Plan) -> None:
        plan = with_held_edges(plan)
        self.plan = plan
        self.pieces = Pieces(plan)
        self.gates: dict[Spot, tuple[Gate, ...]] = dict(self._all_gates())
        """The ways out of each spot."""
        self.stands: dict[str, tuple[str, ...]] = dict(self.pieces.stands)
        """The headings in which a train may set off from each stand, empty for a yard."""
        for yard_id in plan.get("yards", {}):
            self.stands[self.pieces.name("yards", yard_id)] = ("",)
        self.edges = list(self._all_edges())
        """Each edge at which trains come on, with the spot that they enter."""
        self.drags = self.pieces.drags
        self.elements = {
            self.name(kind, id_)
            for kind in ELEMENTS
            for id_ in plan.get(kind, {})
            if (kind, id_) not in self.pieces.yard_of
        }

    def name(self, kind: str, id_: str) -> str:
        return self.pieces.name(kind, id_)

    # ---- moves

    def _enter(self, track_id: str, end: str) -> Spot | None:
        """Return the spot of a train that enters a track by an end, None if it may not."""
        heading = AWAY[end]
        if not self.pieces.allows(track_id, heading):
            return None
        piece = self.pieces.of_track[track_id][0 if heading == "down" else -1]
        return self._spot(piece.name, heading)

    def _spot(self, piece: str, heading: str) -> Spot:
        if piece in self.pieces.inside:
            return self.pieces.inside[piece], ""
        section, turned = self.pieces.section_of[piece]
        return section.name, AWAY[heading] if turned else heading

    def _over_end(self, track_id: str, end: str) -> tuple[Way, ...]:
        """Return the moves over an end of a track."""
        text: str = self.pieces.tracks[track_id][end]
        if ends_there(text):
            return ()
        if text.startswith("joint:"):
            other, their_end = self.pieces.joined_to(track_id, end)
            spot = self._enter(other, their_end)
            sense = "first" if (track_id, end) == self.pieces.ends[text][0] else "second"
            return () if spot is None else (Way(spot, (text, sense)),)
        kind, id_, leg = self.pieces.element(text)
        if not any(self._through(kind, id_, leg)):
            return ()
        yard = self.pieces.yard_of.get((kind, id_))
        to = (self.name(kind, id_), leg) if yard is None else (yard, "")
        return (Way(to, (f"{track_id} {end}", "out")),)

    def _over_cut(self, section: Section, heading: str) -> Way:
        """Return the move over the cut at the end of a section."""
        piece, own = section.along(heading)[-1]
        number = piece.number + (1 if own == "down" else -1)
        beyond = self.pieces.of_track[piece.track][number]
        return Way(self._spot(beyond.name, own), _cut(piece, own))

    def _through(self, kind: str, id_: str, leg: str) -> Iterator[Way]:
        ways = _ways_through(kind, self.plan[kind][id_], leg)
        for out, lie in ways:
            track_id, end = self.pieces.ends[f"{id_}.{out}"][0]
            spot = self._enter(track_id, end)
            if spot is not None:
                switch = self.switch(kind, id_) if lie else ""
                passes = (f"{track_id} {end}", "in")
                yield Way(spot, passes, switch, lie, bool(lie) and len(ways) > 1)

    def _all_gates(self) -> Iterator[tuple[Spot, tuple[Gate, ...]]]:
        for name, section in self.pieces.sections.items():
            for heading in self.pieces.headings(section):
                yield (name, heading), (self._section_gate(section, heading),)
        for kind in ELEMENTS:
            for id_, element in self.plan.get(kind, {}).items():
                if (kind, id_) not in self.pieces.yard_of:
                    for leg in legs_of(kind, element):
                        ways = tuple(self._through(kind, id_, leg))
                        yield (self.name(kind, id_), leg), (Gate(None, ways),)
        for yard_id, yard in self.plan.get("yards", {}).items():
            name = self.name("yards", yard_id)
            yield (name, ""), tuple(self._yard_gates(yard, name))

    def _section_gate(self, section: Section, heading: str) -> Gate:
        met = self.pieces.end_of(section, heading)
        head = self.pieces.facing(section, heading)
        if met == "ring" or ends_there(met):
            return Gate(head, (), leaves=met.startswith("edge:"))
        if met == "cut":
            return Gate(head, (self._over_cut(section, heading),))
        piece, own = section.along(heading)[-1]
        return Gate(head, self._over_end(piece.track, own))

    def _yard_gates(self, yard: dict[str, Any], name: str) -> Iterator[Gate]:
        for track_id in yard.get("tracks", ()):
            for heading in HEADINGS:
                if self.pieces.leads_out(track_id, heading) and self.pieces.allows(
                    track_id, heading
                ):
                    yield self._track_gate(track_id, heading)
        for kind in ELEMENTS:
            for id_ in yard.get(kind, ()):
                for leg in legs_of(kind, self.plan[kind][id_]):
                    track_id, end = self.pieces.ends[f"{id_}.{leg}"][0]
                    spot = self._enter(track_id, end)
                    if self.pieces.yard_of.get(("tracks", track_id)) != name and spot is not None:
                        yield Gate(None, (Way(spot, (f"{track_id} {end}", "in")),))

    def _track_gate(self, track_id: str, heading: str) -> Gate:
        """Return the way out of a yard along one of its tracks."""
        pieces = self.pieces.of_track[track_id]
        number = next(n for n, piece in enumerate(pieces) if piece.name in self.pieces.inside)
        piece = pieces[number]
        head = self.pieces.facing_piece.get((piece.name, heading))
        if head is not None and head.at is not None:
            beyond = pieces[number + (1 if heading == "down" else -1)]
            return Gate(head, (Way(self._spot(beyond.name, heading), _cut(piece, heading)),))
        leaves = self.pieces.tracks[track_id][heading].startswith("edge:")
        return Gate(head, self._over_end(track_id, heading), leaves)

    def _all_edges(self) -> Iterator[tuple[str, Spot]]:
        for track_id, track in self.pieces.tracks.items():
            for end in ("up", "down"):
                spot = self._enter(track_id, end)
                if track[end].startswith("edge:") and spot is not None:
                    yield track[end].removeprefix("edge:"), spot

    # ---- lever groups

    def switch(self, kind: str, id_: str) -> str:
        """Return the key of points or a slip among all switches."""
        both = all(id_ in self.plan.get(each, {}) for each in ("points", "crossings"))
        return self.name(kind, id_) if both else id_

    @cached_property
    def _switches(self) -> dict[str, Any]:
        return {
            self.switch(kind, id_): element
            for kind in ("points", "crossings")
            for id_, element in self.plan.get(kind, {}).items()
        }

    @cached_property
    def _groups(self) -> dict[str, str]:
        """Return for each switch the switch that represents its lever group."""
        of = {switch: switch for switch in self._switches}
        for together in self.plan.get("worked_together", ()):
            joined = {of[member] for member in together}
            of = {s: of[together[0]] if group in joined else group for s, group in of.items()}
        return of

    def lever(self, switch: str, lie: str) -> tuple[str, str]:
        """Return the group of a switch, and how the group must lie for a lie of the switch."""
        group = self._groups[switch]
        if sum(other == group for other in self._groups.values()) == 1:
            return group, lie
        return group, "normal" if lie == _normal(self._switches[switch]) else "reverse"

    def levers_of(self, lies: Lies) -> dict[str, str] | None:
        """Return how the groups must lie for these lies, None if they cannot."""
        worked: dict[str, str] = {}
        for switch, lie in lies.items():
            group, how = self.lever(switch, lie)
            if worked.setdefault(group, how) != how:
                return None
        return worked

    @cached_property
    def trapped(self) -> dict[str, str]:
        """Return the normal lie of each trap group."""
        return {
            group: self.lever(switch, _normal(self._switches[switch]))[1]
            for switch, group in self._groups.items()
            if self._switches[switch].get("trap")
        }


def _cut(piece: Piece, heading: str) -> Passing:
    """Return what a train passes when it runs off a piece over a cut."""
    return f"{piece.track} at {piece.high if heading == 'down' else piece.low}", heading


def _normal(switch: dict[str, Any]) -> str:
    return str(switch.get("normal", "straight"))


def _ways_through(kind: str, element: dict[str, Any], leg: str) -> list[tuple[str, str]]:
    """Return the legs that a train reaches from a leg, each with the lie that it needs."""
    if kind == "turntables":
        return [(road, "") for road in element["roads"]]
    if kind == "points":
        return [(lie, lie) for lie in lies_of(element)] if leg == "toe" else [("toe", leg)]
    slip = element.get("kind", "diamond")
    lie = "" if slip == "diamond" else "straight"
    found = [({"a1": "a2", "a2": "a1", "b1": "b2", "b2": "b1"}[leg], lie)]
    slipping = {"single-slip": {"a1": "b2", "b2": "a1"}}.get(slip, {})
    if slip == "double-slip":
        slipping = {"a1": "b2", "b2": "a1", "b1": "a2", "a2": "b1"}
    if leg in slipping:
        found.append((slipping[leg], "slip"))
    return found
