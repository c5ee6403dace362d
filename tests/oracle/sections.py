"""Tracks cut into pieces at their heads, and pieces joined into sections over bare joints."""

from __future__ import annotations

from typing import Any, NamedTuple

from oracle.elements import Elements
from oracle.heads import Head, NotJudgedError, Plan, holding_heads

Spot = tuple[str, str]
TrackEnd = tuple[str, str]

HEADINGS = ("down", "up")
OTHER = {"down": "up", "up": "down"}


class Piece(NamedTuple):
    """A part of a track between two cuts or ends; `yard` is its yard, or None.

    `start` and `stop` are distances from the track's up end, in mm; `stop` is None without a
    length. `first` and `last` are true if the piece reaches the up or the down end of its track.
    """

    name: str
    track: str
    number: int
    start: float
    stop: float | None
    first: bool
    last: bool
    yard: str | None

    def reaches(self, end: str) -> bool:
        """Whether the piece ends there with its track, and not at a cut."""
        return self.first if end == "up" else self.last

    def cut_at(self, end: str) -> float | None:
        """How far from the up end of the track the cut at that end is, None if there is none."""
        if self.reaches(end):
            return None
        return self.start if end == "up" else self.stop


class Section(NamedTuple):
    """Pieces joined into one place, beginning with the first in the plan.

    `ends` maps each heading to the last piece and its end; it is empty for a ring.
    """

    name: str
    pieces: tuple[Piece, ...]
    ends: dict[str, tuple[Piece, str]]
    headings: tuple[str, ...]


class Sections:
    """The pieces, sections and stands of a plan, and what every end of a track meets."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.tracks: dict[str, Any] = plan["tracks"]
        self.elements = Elements(plan)
        self.all_heads = holding_heads(plan)
        self._read_ends()
        self.heads: dict[tuple[str, str, float | None], Head] = {}
        self.exits: dict[TrackEnd, Head] = {}
        self.pieces: dict[str, list[Piece]] = {t: self._cut(t) for t in self.tracks}
        self._spots: dict[tuple[Piece, str], Spot] = {}
        self.sections: dict[str, Section] = {}
        self._join()
        self.stands: dict[str, tuple[str, ...]] = {
            name: section.headings
            for name, section in self.sections.items()
            if any(self._makes_stand(piece) for piece in section.pieces)
        }
        for yard_id in plan.get("yards", {}):
            self.stands[self.elements.place_name("yards", yard_id)] = ("",)

    # ---- ends ------------------------------------------------------------------------------

    def _read_ends(self) -> None:
        self.at_joint: dict[str, list[TrackEnd]] = {}
        self.at_leg: dict[tuple[str, str], TrackEnd] = {}
        for track_id, track in self.tracks.items():
            for end in ("up", "down"):
                text = track[end]
                if leads_nowhere(text):
                    continue
                if text.startswith("joint:"):
                    self.at_joint.setdefault(text, []).append((track_id, end))
                    continue
                element, leg = self.elements.met(text)
                if (element.name, leg) in self.at_leg:
                    raise NotJudgedError(f"two track ends meet {text}")
                self.at_leg[element.name, leg] = (track_id, end)
        for text, ends in self.at_joint.items():
            if len(ends) != 2:
                raise NotJudgedError(f"{len(ends)} track ends meet {text}")
        for element in self.elements.by_name.values():
            for leg in element.ways:
                if (element.name, leg) not in self.at_leg:
                    raise NotJudgedError(f"no track end meets {element.name}.{leg}")

    def across(self, track_end: TrackEnd) -> TrackEnd:
        """The other of the two track ends that meet at a joint."""
        first, second = self.at_joint[self.tracks[track_end[0]][track_end[1]]]
        return second if first == track_end else first

    def allows(self, track_id: str, heading: str) -> bool:
        """Whether trains may run in that heading of the track."""
        return self.tracks[track_id].get("running", "both") in ("both", heading)

    # ---- pieces ----------------------------------------------------------------------------

    def _cut(self, track_id: str) -> list[Piece]:
        yard = self.elements.yard_of.get(("tracks", track_id))
        heads = [head for head in self.all_heads if head.track == track_id]
        begin, end = 0.0, float("inf")  # the part inside the yard
        if yard is not None:
            heads, begin, end = self._of_yard(track_id, heads)
        for head in heads:
            self.heads[head.track, head.heading, head.at] = head
        cuts: list[float] = sorted({head.at for head in heads if head.at is not None})
        starts = [0.0, *cuts]
        stops = [*cuts, self.tracks[track_id].get("length_mm")]
        found = []
        for number, (start, stop) in enumerate(zip(starts, stops, strict=True)):
            inside = begin <= start < end
            found.append(
                Piece(
                    f"{track_id}.{number + 1}" if cuts else track_id,
                    track_id,
                    number,
                    start,
                    stop,
                    number == 0,
                    number == len(cuts),
                    yard if inside else None,
                )
            )
        return found

    def _of_yard(self, track_id: str, heads: list[Head]) -> tuple[list[Head], float, float]:
        """The heads of a yard's track that have an effect, and the part of it inside the yard."""
        for heading in HEADINGS:
            outgoing = [head for head in heads if head.heading == heading]
            if outgoing and self.leads_out(track_id, heading):
                self.exits[track_id, heading] = min(outgoing, key=_from_its_end)
        up, down = self.exits.get((track_id, "up")), self.exits.get((track_id, "down"))
        begin = up.at if up is not None and up.at is not None else 0.0
        end = down.at if down is not None and down.at is not None else float("inf")
        if begin >= end:
            raise NotJudgedError(f"the exit heads of {track_id} leave no part of it in the yard")
        kept = [
            head
            for head in heads
            if head in (up, down)
            or (head.at is not None and (0 < head.at <= begin or head.at >= end))
        ]
        return kept, begin, end

    def leads_out(self, track_id: str, end: str) -> bool:
        """Whether a track of a yard leads straight out of it at that end."""
        yard = self.elements.yard_of["tracks", track_id]
        text: str = self.tracks[track_id][end]
        if leads_nowhere(text):
            return text != "buffer"
        if text.startswith("joint:"):
            return self.elements.yard_of.get(("tracks", self.across((track_id, end))[0])) != yard
        return self.elements.met(text)[0].place != yard

    def piece_at(self, track_end: TrackEnd) -> Piece:
        track_id, end = track_end
        return self.pieces[track_id][0 if end == "up" else -1]

    def head_at(self, piece: Piece, end: str) -> Head | None:
        """The head that faces trains at that end of a piece."""
        return self.heads.get((piece.track, end, piece.cut_at(end)))

    # ---- sections --------------------------------------------------------------------------

    def _join(self) -> None:
        links: dict[tuple[Piece, str], tuple[Piece, str]] = {}
        for one, other in self.at_joint.values():
            if self._belong_together(one, other):
                links[self.piece_at(one), one[1]] = (self.piece_at(other), other[1])
                links[self.piece_at(other), other[1]] = (self.piece_at(one), one[1])
        for track_id, pieces in self.pieces.items():
            headings = tuple(h for h in HEADINGS if self.allows(track_id, h))
            for first in pieces:
                if first.yard is not None:
                    self._spots[first, "down"] = self._spots[first, "up"] = (first.yard, "")
                elif (first, "down") not in self._spots:
                    self._join_from(first, headings, links)

    def _join_from(
        self,
        first: Piece,
        headings: tuple[str, ...],
        links: dict[tuple[Piece, str], tuple[Piece, str]],
    ) -> None:
        """Make the section of a piece that comes first in it."""
        pieces = [first]
        ends = {}
        for heading in HEADINGS:
            piece, end = first, heading
            while True:
                self._spots[piece, end] = (first.name, heading)
                self._spots[piece, OTHER[end]] = (first.name, OTHER[heading])
                if (piece, end) not in links:
                    ends[heading] = (piece, end)
                    break
                piece, entered = links[piece, end]
                end = OTHER[entered]
                if piece == first:
                    break  # a ring
                if piece not in pieces:
                    pieces.append(piece)
        self.sections[first.name] = Section(first.name, tuple(pieces), ends, headings)

    def _belong_together(self, one: TrackEnd, other: TrackEnd) -> bool:
        if any((track, end, None) in self.heads for track, end in (one, other)):
            return False
        if any(self.piece_at(each).yard is not None for each in (one, other)):
            return False

        def off(track_end: TrackEnd) -> bool:
            return self.allows(*track_end)

        def onto(track_end: TrackEnd) -> bool:
            return self.allows(track_end[0], OTHER[track_end[1]])

        return off(one) == onto(other) and onto(one) == off(other)

    def spot(self, piece: Piece, heading: str) -> Spot:
        """The spot of a train that runs in that heading of a piece."""
        return self._spots[piece, heading]

    # ---- stands ----------------------------------------------------------------------------

    def _makes_stand(self, piece: Piece) -> bool:
        track = self.tracks[piece.track]
        if "stand" in track:
            stands = bool(track["stand"])
        else:
            platforms = self.plan.get("platforms", {}).values()
            stands = any(piece.track in each["tracks"] for each in platforms) or any(
                piece.reaches(end) and leads_nowhere(track[end]) for end in HEADINGS
            )
        return stands and not any(self._is_stub(piece, heading) for heading in HEADINGS)

    def _is_stub(self, piece: Piece, heading: str) -> bool:
        """Whether the piece is a stub for the trains that run in that heading of it."""
        cut = piece.cut_at(OTHER[heading])
        if cut is None or (piece.track, heading, cut) not in self.heads:
            return False
        if not self.allows(piece.track, heading):
            return False
        name, way = self.spot(piece, heading)
        section = self.sections[name]
        last, end = section.ends[way]
        if self.head_at(last, end) is not None:
            return False
        if last.reaches(end) and leads_nowhere(self.tracks[last.track][end]):
            return False
        return not self._shortest_train_fits(section)

    def _shortest_train_fits(self, section: Section) -> bool:
        trains = self.plan.get("trains", {}).values()
        lengths = [train["length_mm"] for train in trains if "length_mm" in train]
        if not lengths or any(piece.stop is None for piece in section.pieces):
            return False
        room = sum(piece.stop - piece.start for piece in section.pieces if piece.stop is not None)
        return bool(min(lengths) <= room)


def leads_nowhere(text: str) -> bool:
    """Whether the end of a track is a buffer or an edge."""
    return text == "buffer" or text.startswith("edge:")


def _from_its_end(head: Head) -> float:
    """For comparing heads of one track and heading: less for one nearer to its trains' end."""
    if head.at is None:
        return float("-inf")
    return -head.at if head.heading == "down" else head.at
