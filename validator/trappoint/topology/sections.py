"""Sections: heads cut tracks into pieces, and bare joints link pieces into sections.

A head along a track cuts it into *pieces*. A joint is bare if no head is right at it. Pieces that
meet at a bare joint are one *section* if both tracks let trains run through the joint in the same
directions: no signal can keep two trains apart there. A track in a yard is cut only at its exit
heads and beyond them. ``schema/README.md`` defines all of this.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.model.layout import HEADINGS, cut_at, opposite

if TYPE_CHECKING:
    from trappoint.model.layout import Head, Heading, Layout, Track

TrackEnd = tuple[str, "Heading"]
"""A track and the heading of the trains that run to that end of it."""


class Piece(NamedTuple):
    """A part of a track between two cuts, with its direction in its section."""

    track: str
    part: int
    """Its number from 0, counted from the up end."""
    turned: bool
    """True if the section's down trains run up this track."""

    def heading(self, heading: Heading) -> Heading:
        """Return the track's heading for a section's heading, or the section's for the track's."""
        return opposite(heading) if self.turned else heading


class Section(NamedTuple):
    """Pieces without a signal between them, in the order in which a down train meets them."""

    pieces: tuple[Piece, ...]
    ring: bool
    """True if the last piece leads back into the first over a bare joint."""


class Sections:
    """The cuts and the sections of all tracks of a plan."""

    cuts: dict[str, list[float]]
    """The cuts of each track, in mm from its up end; a yard's track is cut only at its exit heads
    and beyond."""
    yard_part: dict[str, int]
    """For each track of a yard, the number of the part that is in the yard."""
    exit_heads: dict[TrackEnd, int]
    """The head that holds trains leaving a yard by an end of one of its tracks."""
    all: list[tuple[Piece, Section]]
    """Every section with the piece that names it, in the order of the plan."""

    def __init__(self) -> None:
        self.cuts = {}
        self.yard_part = {}
        self.exit_heads = {}
        self.all = []

    def length(self, layout: Layout, track: str, part: int) -> float | None:
        """Return the length of a piece in mm; None if it depends on a track length not given."""
        cuts = self.cuts[track]
        start = cuts[part - 1] if part else 0.0
        stop = cuts[part] if part < len(cuts) else layout.tracks[track].length_mm
        return None if stop is None else stop - start


def yard_members(layout: Layout) -> dict[tuple[str, str], str]:
    """Return the yard of each track and element that is in one, by kind and id."""
    return {
        (kind, id_): yard.id
        for yard in layout.yards.values()
        for kind in ("tracks", "points", "crossings", "turntables")
        for id_ in getattr(yard, kind)
    }


def joint_partners(layout: Layout) -> dict[TrackEnd, TrackEnd]:
    """Return the partner of each track end at a joint: the end that it meets there.

    The heading of an end is that of the trains that run to the joint on its track.
    """
    at: dict[str, list[TrackEnd]] = {}
    for track in layout.tracks.values():
        for heading in HEADINGS:
            end = track.end(heading)
            if end.kind == "joint":
                at.setdefault(end.name, []).append((track.id, heading))
    return {
        one: other for ends in at.values() if len(ends) == 2 for one, other in (ends, ends[::-1])
    }


def derive_sections(layout: Layout, heads: list[Head]) -> Sections:
    """Return the sections of a plan: tracks cut at heads, and pieces linked by bare joints."""
    return _Cutting(layout, heads).derive()


class _Cutting:
    """A builder that cuts and joins the tracks of one plan."""

    def __init__(self, layout: Layout, heads: list[Head]) -> None:
        self.layout = layout
        self.heads = heads
        self.yard_of = yard_members(layout)
        self.partner = joint_partners(layout)
        self.result = Sections()
        self.on_track: dict[str, list[int]] = {}
        for number, head in enumerate(heads):
            self.on_track.setdefault(head.track, []).append(number)
        self.at_end: set[TrackEnd] = set()
        """The track ends that have a head right at them."""

    def derive(self) -> Sections:
        for track in self.layout.tracks.values():
            if ("tracks", track.id) in self.yard_of:
                self._cut_in_yard(track)
            else:
                self._cut(track)
        self._join()
        return self.result

    def _at(self, number: int) -> float:
        head = self.heads[number]
        return cut_at(head, self.layout.tracks[head.track])

    def _cut(self, track: Track) -> None:
        own = [(self._at(number), number) for number in self.on_track.get(track.id, ())]
        self.result.cuts[track.id] = sorted({at for at, _ in own if at >= 0})
        self.at_end.update((track.id, self.heads[n].heading) for at, n in own if at < 0)

    def _cut_in_yard(self, track: Track) -> None:
        cuts: set[float] = set()
        own = self.on_track.get(track.id, ())
        first = None
        for heading in HEADINGS:
            exit_head = self._exit_head(track, heading)
            if exit_head is None:
                continue
            self.result.exit_heads[track.id, heading] = exit_head
            at = self._at(exit_head)
            if at < 0:
                self.at_end.add((track.id, heading))
                continue
            beyond = [n for n in own if self._beyond(n, heading, at)]
            cuts |= {at, *(spot for n in beyond if (spot := self._at(n)) >= 0)}
            if heading == "up":
                first = at
        self.result.cuts[track.id] = sorted(cuts)
        self.result.yard_part[track.id] = 0 if first is None else sorted(cuts).index(first) + 1

    def _beyond(self, number: int, heading: Heading, at: float) -> bool:
        """Return whether a head is beyond an exit head, or back to back with it."""
        spot = self._at(number)
        if spot < 0:
            return False
        return spot >= at if heading == "down" else spot <= at

    def _exit_head(self, track: Track, heading: Heading) -> int | None:
        """Return the head that holds trains leaving the yard by this end; None if there is none."""
        if not self.leads_out(track, heading):
            return None
        return max(
            (n for n in self.on_track.get(track.id, ()) if self.heads[n].heading == heading),
            key=lambda n: nearness(self.heads[n], track),
            default=None,
        )

    def leads_out(self, track: Track, heading: Heading) -> bool:
        """Return whether this end of a yard's track leads straight out of the yard."""
        end, yard = track.end(heading), self.yard_of["tracks", track.id]
        if end.kind == "joint":
            partner = self.partner.get((track.id, heading))
            return partner is not None and self.yard_of.get(("tracks", partner[0])) != yard
        if end.kind == "leg":
            found = self.layout.element(end)
            return found is not None and self.yard_of.get((found[0], found[1].id)) != yard
        return end.kind == "edge"

    # --- joining

    def _join(self) -> None:
        seen: set[tuple[str, int]] = set()
        for track in self.layout.tracks.values():
            for part in range(len(self.result.cuts[track.id]) + 1):
                if (track.id, part) in seen or self.result.yard_part.get(track.id) == part:
                    continue
                named = Piece(track.id, part, False)
                if not any((track.id, heading) in self.partner for heading in HEADINGS):
                    self.result.all.append((named, Section((named,), False)))
                    continue
                section = self._section(named)
                seen.update(piece[:2] for piece in section.pieces)
                self.result.all.append((named, section))

    def _section(self, named: Piece) -> Section:
        ahead, ring = self._follow(named, "down")
        if ring:
            return Section((named, *ahead), True)
        behind, _ = self._follow(named, "up")
        return Section((*reversed(behind), named, *ahead), False)

    def _follow(self, named: Piece, heading: Heading) -> tuple[list[Piece], bool]:
        """Return the pieces ahead over bare joints in a heading, and whether they form a ring."""
        found: list[Piece] = []
        piece = named
        while (onward := self._joined(piece, heading)) is not None:
            if onward[:2] == named[:2]:
                return found, True
            found.append(onward)
            piece = onward
        return found, False

    def _joined(self, piece: Piece, heading: Heading) -> Piece | None:
        """Return the next piece of the section in the section's heading; None if it ends here."""
        own = piece.heading(heading)
        last = len(self.result.cuts[piece.track]) if own == "down" else 0
        if piece.part != last:
            return None
        partner = self.partner.get((piece.track, own))
        if partner is None or (piece.track, own) in self.at_end or partner in self.at_end:
            return None
        track, towards = partner
        part = len(self.result.cuts[track]) if towards == "down" else 0
        if self.result.yard_part.get(track) == part:
            return None
        one, other = self.layout.tracks[piece.track], self.layout.tracks[track]
        through = one.allows(own), one.allows(opposite(own))
        if through != (other.allows(opposite(towards)), other.allows(towards)):
            return None
        return Piece(track, part, opposite(towards) != heading)


def nearness(head: Head, track: Track) -> float:
    """Return how near a head is to the end that its trains run to: larger is nearer."""
    at = cut_at(head, track)
    if at < 0:
        return float("inf")
    return at if head.heading == "down" else -at
