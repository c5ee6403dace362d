"""Heads, the pieces into which they cut the tracks, and the sections made of the pieces.

Written from the format's page alone ("Heads, pieces and sections", "Places").
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import Any, NamedTuple

Plan = dict[str, Any]
End = tuple[str, str]
"""A track and one of its ends, or a piece and a heading of trains in it."""

AWAY = {"up": "down", "down": "up"}
HEADINGS = ("down", "up")
PREFIX = {"points": "points", "crossings": "crossing", "turntables": "turntable", "yards": "yard"}
ELEMENTS = ("points", "crossings", "turntables")
HOLDS = ("stop", "shunt")
GIVES_LEAVE = {"stop": "stop", "shunt": "shunt", "calling-on": "stop"}
"""The kind of routes for which each kind of arm gives leave."""


class Head(NamedTuple):
    """All arms at one spot for the same trains; at least one of them holds trains."""

    signal: str
    track: str
    heading: str
    at: float | None
    """The distance from the track's up end, None at the end to which the trains run."""
    arms: tuple[tuple[str, str], ...]
    """The id and the kind of each arm."""

    @property
    def kinds(self) -> set[str]:
        return {kind for _, kind in self.arms}


class Piece(NamedTuple):
    """A part of a track between two cuts."""

    name: str
    track: str
    number: int
    low: float
    """Its beginning, in mm from the track's up end."""
    high: float | None
    """Its end, in mm from the track's up end; None at the end of a track without a length."""


class Section(NamedTuple):
    """Pieces divided by bare joints only, in the order of the section's down trains."""

    name: str
    chain: tuple[tuple[Piece, bool], ...]
    """Each piece, with True if the section's down trains run up on its track."""
    is_ring: bool

    def along(self, heading: str) -> list[tuple[Piece, str]]:
        """Return the pieces in the order of a train, with its heading on the track of each."""
        onward = self.chain if heading == "down" else self.chain[::-1]
        return [(piece, AWAY[heading] if turned else heading) for piece, turned in onward]


class Pieces:
    """The tracks of a plan, cut and joined."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.tracks: dict[str, Any] = plan["tracks"]
        self.yard_of = {
            (kind, member): self.name("yards", yard_id)
            for yard_id, yard in plan.get("yards", {}).items()
            for kind in ("tracks", *ELEMENTS)
            for member in yard.get(kind, ())
        }
        self.ends: dict[str, list[End]] = {}
        for track_id, track in self.tracks.items():
            for end in ("up", "down"):
                self.ends.setdefault(track[end], []).append((track_id, end))
        self.heads = read_heads(plan)
        self.of_track: dict[str, list[Piece]] = {}
        self.facing_piece: dict[End, Head] = {}
        """The head that holds the trains of a piece, by heading; in a yard, the exit heads."""
        self.inside: dict[str, str] = {}
        """The yard of each piece in a yard."""
        for track_id in self.tracks:
            self._cut(track_id)

    # ---- values of the plan

    def name(self, kind: str, id_: str) -> str:
        kinds = ("tracks", *ELEMENTS, "yards")
        alike = sum(id_ in self.plan.get(each, {}) for each in kinds)
        return id_ if alike == 1 else f"{PREFIX[kind]}:{id_}"

    def allows(self, track_id: str, heading: str) -> bool:
        return self.tracks[track_id].get("running", "both") in ("both", heading)

    def element(self, text: str) -> tuple[str, str, str]:
        """Return the kind, the id and the leg at a track end."""
        id_, _, leg = text.partition(".")
        for kind in ELEMENTS:
            if leg in legs_of(kind, self.plan.get(kind, {}).get(id_)):
                return kind, id_, leg
        raise AssertionError(f"nothing is called {text}")

    def joined_to(self, track_id: str, end: str) -> End:
        """Return the other track end at a joint."""
        others = list(self.ends[self.tracks[track_id][end]])
        others.remove((track_id, end))
        return others[0]

    def leads_out(self, track_id: str, end: str) -> bool:
        """Return whether an end of a yard's track leads straight out of the yard."""
        text: str = self.tracks[track_id][end]
        if ends_there(text):
            return text != "buffer"
        if text.startswith("joint:"):
            beyond = "tracks", self.joined_to(track_id, end)[0]
        else:
            beyond = self.element(text)[:2]
        return self.yard_of.get(beyond) != self.yard_of["tracks", track_id]

    # ---- cutting

    def _cut(self, track_id: str) -> None:
        heads = [head for head in self.heads if head.track == track_id]
        yard = self.yard_of.get(("tracks", track_id))
        bounds = None if yard is None else self._yard_bounds(track_id, heads)
        if bounds is not None:
            heads = [head for head in heads if _has_effect(head, bounds)]
        cuts = sorted({head.at for head in heads if head.at is not None})
        names = [f"{track_id}.{n}" for n in range(1, len(cuts) + 2)] if cuts else [track_id]
        marks = [0, *cuts, self.tracks[track_id].get("length_mm")]
        self.of_track[track_id] = [
            Piece(name, track_id, number, marks[number], marks[number + 1])
            for number, name in enumerate(names)
        ]
        for head in heads:
            if head.at is None:
                where = names[-1 if head.heading == "down" else 0]
            else:
                where = names[cuts.index(head.at) + (head.heading == "up")]
            self.facing_piece[where, head.heading] = head
        if yard is not None and bounds is not None:
            low, _ = _bounds(bounds)
            self.inside[names[0 if low is None else cuts.index(low) + 1]] = yard

    def _yard_bounds(self, track_id: str, heads: list[Head]) -> dict[str, Head | None]:
        """Return the exit head of a yard's track for each heading."""
        found: dict[str, Head | None] = {}
        for heading in HEADINGS:
            of_heading = [h for h in heads if h.heading == heading]
            found[heading] = None
            if of_heading and self.leads_out(track_id, heading):
                sign = 1 if heading == "down" else -1
                found[heading] = max(
                    of_heading, key=lambda h: float("inf") if h.at is None else sign * h.at
                )
        low, high = _bounds(found)
        assert low is None or high is None or low < high, f"nothing of {track_id} is in its yard"
        return found

    # ---- sections

    @cached_property
    def sections(self) -> dict[str, Section]:
        """Every section by its name, in the order of the plan."""
        found: dict[str, Section] = {}
        done: set[Piece] = set()
        for piece in (piece for pieces in self.of_track.values() for piece in pieces):
            if piece not in done and piece.name not in self.inside:
                down, is_ring = self._walk(piece, "down")
                before = [] if is_ring else self._walk(piece, "up")[0][1:]
                chain = [(other, heading == "down") for other, heading in reversed(before)]
                chain += [(other, heading == "up") for other, heading in down]
                found[piece.name] = Section(piece.name, tuple(chain), is_ring)
                done |= {other for other, _ in chain}
        return found

    def _walk(self, first: Piece, heading: str) -> tuple[list[tuple[Piece, str]], bool]:
        """Return the pieces of one section onward from a piece, and whether they form a ring."""
        found = [(first, heading)]
        while True:
            following = self._over_bare_joint(*found[-1])
            if following is None or following[0] == first:
                return found, following is not None
            found.append(following)

    def _over_bare_joint(self, piece: Piece, heading: str) -> tuple[Piece, str] | None:
        track_id = piece.track
        if piece != self._last(track_id, heading) or piece.name in self.inside:
            return None
        if not self.tracks[track_id][heading].startswith("joint:"):
            return None
        other, end = self.joined_to(track_id, heading)
        beyond = self._last(other, end)
        if beyond.name in self.inside:
            return None
        if (piece.name, heading) in self.facing_piece or (beyond.name, end) in self.facing_piece:
            return None
        alike = all(
            self.allows(track_id, here) == self.allows(other, there)
            for here, there in ((heading, AWAY[end]), (AWAY[heading], end))
        )
        return (beyond, AWAY[end]) if alike else None

    def _last(self, track_id: str, heading: str) -> Piece:
        return self.of_track[track_id][-1 if heading == "down" else 0]

    @cached_property
    def section_of(self) -> dict[str, tuple[Section, bool]]:
        """For each piece its section, and whether the section's down trains run up on it."""
        return {
            piece.name: (section, turned)
            for section in self.sections.values()
            for piece, turned in section.chain
        }

    def facing(self, section: Section, heading: str) -> Head | None:
        """Return the head that faces the trains of a section."""
        piece, own = section.along(heading)[-1]
        return None if section.is_ring else self.facing_piece.get((piece.name, own))

    def end_of(self, section: Section, heading: str) -> str:
        """Return the text of the track end at the end of a section, or ``cut``, or ``ring``."""
        piece, own = section.along(heading)[-1]
        if section.is_ring:
            return "ring"
        at_track_end = piece == self._last(piece.track, own)
        return str(self.tracks[piece.track][own]) if at_track_end else "cut"

    # ---- stands

    @cached_property
    def stands(self) -> dict[str, tuple[str, ...]]:
        """The stands, with the headings in which trains may set off from each."""
        return {
            name: self.headings(section)
            for name, section in self.sections.items()
            if any(self._makes_stand(piece) for piece, _ in section.chain)
        }

    def headings(self, section: Section) -> tuple[str, ...]:
        first = self.sections[section.name].chain
        track_id, turned = next((p.track, t) for p, t in first if p.name == section.name)
        assert not turned
        return tuple(heading for heading in HEADINGS if self.allows(track_id, heading))

    def _makes_stand(self, piece: Piece) -> bool:
        track = self.tracks[piece.track]
        platforms = self.plan.get("platforms", {}).values()
        usual = any(piece.track in platform["tracks"] for platform in platforms) or any(
            piece == self._last(piece.track, end) and ends_there(track[end]) for end in HEADINGS
        )
        return bool(track.get("stand", usual)) and not self.is_stub(piece)

    def is_stub(self, piece: Piece) -> bool:
        """Return whether a train passes a head into the piece and runs on unheld beyond it."""
        section, turned = self.section_of[piece.name]
        for own in HEADINGS:
            before = piece.number + (-1 if own == "down" else 1)
            heading = AWAY[own] if turned else own
            if (
                0 <= before < len(self.of_track[piece.track])
                and (self.of_track[piece.track][before].name, own) in self.facing_piece
                and self.allows(piece.track, own)
                and self.facing(section, heading) is None
                and not ends_there(self.end_of(section, heading))
                and not self._has_room(section, heading, piece)
            ):
                return True
        return False

    def _has_room(self, section: Section, heading: str, first: Piece) -> bool:
        """Return whether the shortest train fits between the cut before a piece and the end."""
        pieces = [piece for piece, _ in section.along(heading)]
        lengths = [
            None if piece.high is None else piece.high - piece.low
            for piece in pieces[pieces.index(first) :]
        ]
        trains = self.plan.get("trains", {}).values()
        shortest = min((t["length_mm"] for t in trains if "length_mm" in t), default=None)
        if shortest is None or None in lengths:
            return False
        return bool(shortest <= sum(length or 0 for length in lengths))

    @cached_property
    def drags(self) -> frozenset[str]:
        """The drags: sections that only catch strays from trap points."""
        traps = {id_ for id_, points in self.plan.get("points", {}).items() if points.get("trap")}
        found = set()
        for name, section in self.sections.items():
            met = {self.end_of(section, heading) for heading in HEADINGS}
            legs = {text for text in met if text.partition(".")[0] in traps}
            by_leg = any(not text.endswith(".toe") for text in legs)
            if by_leg and "buffer" in met and name not in self.stands:
                found.add(name)
        return frozenset(found)


def _has_effect(head: Head, exits: dict[str, Head | None]) -> bool:
    """Return whether a head on a yard's track is an exit head, or beyond or beside one."""
    if head in exits.values():
        return True
    low, high = _bounds(exits)
    if head.at is None:
        return False
    return (low is not None and head.at <= low) or (high is not None and head.at >= high)


def _bounds(exits: dict[str, Head | None]) -> tuple[float | None, float | None]:
    """Return the beginning and the end of a yard on a track, None for the track's own end."""
    up, down = exits["up"], exits["down"]
    return None if up is None else up.at, None if down is None else down.at


def ends_there(text: str) -> bool:
    return text == "buffer" or text.startswith("edge:")


def read_heads(plan: Plan) -> list[Head]:
    """Yield every head of a plan, in the order of its arms."""
    found: dict[tuple[str, str, float | None], list[tuple[str, str, str]]] = {}
    for signal_id, track_id, heading, at, arm in _placed_arms(plan):
        kind = arm.get("kind", "stop")
        if kind in GIVES_LEAVE:
            found.setdefault((track_id, heading, at), []).append((signal_id, arm["id"], kind))
    heads = []
    for (track_id, heading, at), arms in found.items():
        naming = [signal for kind in HOLDS for signal, _, of_arm in arms if of_arm == kind]
        if naming:
            told = tuple((arm, kind) for _, arm, kind in arms)
            heads.append(Head(naming[0], track_id, heading, at, told))
    return heads


def _placed_arms(plan: Plan) -> Iterator[tuple[str, str, str, float | None, Any]]:
    for signal_id, signal in plan.get("signals", {}).items():
        for arm in signal["arms"]:
            track_id, heading = arm.get("track", signal["track"]), arm.get("for", signal["for"])
            # The at_mm of a signal is measured along the signal's own track.
            usual = signal.get("at_mm") if track_id == signal["track"] else None
            at = arm.get("at_mm", usual)
            end = 0 if heading == "up" else plan["tracks"][track_id].get("length_mm")
            yield signal_id, track_id, heading, None if at == end else at, arm


def legs_of(kind: str, element: dict[str, Any] | None) -> tuple[str, ...]:
    if element is None:
        return ()
    if kind == "turntables":
        return tuple(element["roads"])
    if kind == "crossings":
        return ("a1", "a2", "b1", "b2")
    return ("toe", *lies_of(element))


def lies_of(points: dict[str, Any]) -> tuple[str, ...]:
    return ("left", "middle", "right") if points.get("kind") == "three-way" else ("left", "right")
