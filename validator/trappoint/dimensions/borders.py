"""The ends of sections, and how far from them a train is clear of its neighbours.

A section ends at a cut, a leg, a joint, a buffer or an edge. The fouling place of points or a
crossing beyond a signal may lie before that signal. A length that the plan does not give is
unknown. A signal counts as clear of the points beyond it unless measures show the opposite.
"""

from __future__ import annotations

from functools import cached_property
from math import inf, isinf
from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.model.layout import Points, Turntable, cut_at, opposite
from trappoint.topology.sections import joint_partners

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.dimensions.parting import Partings
    from trappoint.model.layout import End, Heading, Layout, Track
    from trappoint.topology.network import Network
    from trappoint.topology.sections import Piece

MAX_JOINTS = 100
"""Most joints in the search for points beyond the end of a section."""


class Border(NamedTuple):
    """One end of a section."""

    kind: Literal["cut", "leg", "joint", "buffer", "edge", "ring"]
    words: str
    """The text of the track's end in the plan, or the track at a cut."""
    held: str
    """The signal at this end, for either heading, in words; empty if there is none."""
    leg: End | None
    """The leg at which the plain line ends, here or beyond; None if it ends in another way, or if
    a length on the way is missing."""
    away: float
    """The distance to that leg, in mm."""


class Keep(NamedTuple):
    """The distance from a border at which a train is clear of everything beyond it, in mm."""

    least: float
    """A train that is nearer is foul."""
    most: float
    """A train at this distance or farther is clear; infinite if this is unknown."""
    words: str
    """The place that the train keeps clear of."""


class Borders:
    """The ends of the sections of one plan."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.layout = layout = network.layout
        self.partner = joint_partners(layout)
        self.on_spot: dict[tuple[str, Heading, float], str] = {}
        """The signal of each head that has an effect, by track, heading and cut (-1: the end)."""
        for head, state in zip(network.heads, network.held_at, strict=True):
            if state >= 0:
                spot = head.track, head.heading, cut_at(head, layout.tracks[head.track])
                name = f"the signal at {head.signal}" if head.elsewhere else f"signal {head.signal}"
                self.on_spot[spot] = name
        self.with_posts = {
            signal.track
            for signal in layout.signals.values()
            if signal.spacing_mm is not None and signal.side is not None
        }
        """The tracks with a post that gives the spacing to the next track."""

    @cached_property
    def partings(self) -> Partings:
        """The fouling places, derived on first use."""
        from trappoint.dimensions.parting import Partings

        return Partings(self.layout, passing_apart(self.layout))

    def at(self, state: int) -> Border:
        """Return the border that a train in this state of a section runs to."""
        piece, heading = self.network.last_piece(state)
        track, cuts = self.layout.tracks[piece.track], self.network.cuts[piece.track]
        if piece.part != (len(cuts) if heading == "down" else 0):
            at = cuts[piece.part - (heading == "up")]
            rest = at if heading == "up" else _less(track.length_mm, at)
            return self._beyond("cut", track.id, self._signal(track.id, heading, at), track,
                                heading, rest)  # fmt: skip
        end, held = track.end(heading), self.on_spot.get((track.id, heading, -1.0), "")
        if end.kind != "joint":
            return Border(end.kind, end.text, held, end if end.kind == "leg" else None, 0.0)
        other, towards = self.partner[track.id, heading]
        held = held or self.on_spot.get((other, towards, -1.0), "")
        if not held and self._comes_round(state, other, opposite(towards)):
            return Border("ring", end.text, "", None, 0.0)
        beyond = self.layout.tracks[other]
        return self._beyond("joint", end.text, held, beyond, opposite(towards), beyond.length_mm)

    def keep(self, border: Border) -> Keep:
        """Return the distance from a border at which a train is clear."""
        least, most, measured = self._foul(border)
        least, most = max(0.0, least - border.away), max(0.0, most - border.away)
        leg = "" if border.leg is None else border.leg.text
        fouling, plain = f"fouling place at {leg}", border.held or border.words
        if border.held and not measured:
            # Without measures, a train held at a signal counts as clear.
            return Keep(least, least, fouling if least else plain)
        if not most:
            return Keep(least, most, plain)
        if isinf(most) and not least:
            return Keep(least, most, f"{leg} (fouling place not known)")
        return Keep(least, most, fouling)

    def _signal(self, track: str, heading: Heading, at: float) -> str:
        ahead = self.on_spot.get((track, heading, at), "")
        return ahead or self.on_spot.get((track, opposite(heading), at), "")

    def _comes_round(self, state: int, track: str, heading: Heading) -> bool:
        sections = self.network.sections.get(track)
        return sections is not None and sections[0 if heading == "down" else -1][heading] == state

    def _beyond(
        self,
        kind: Literal["cut", "joint"],
        words: str,
        held: str,
        track: Track,
        heading: Heading,
        rest: float | None,
    ) -> Border:
        """Return a border with the leg at which the plain line beyond it ends.

        ``rest`` is the length from the border to the end of the track, in mm; None if unknown.
        """
        for _ in range(MAX_JOINTS):
            end = track.end(heading)
            if rest is None or end.kind in ("buffer", "edge"):
                break
            if end.kind == "leg":
                return Border(kind, words, held, end, rest)
            other, towards = self.partner[track.id, heading]
            track, heading = self.layout.tracks[other], opposite(towards)
            rest = None if track.length_mm is None else rest + track.length_mm
        return Border(kind, words, held, None, 0.0)

    def _foul(self, border: Border) -> tuple[float, float, bool]:
        """Return the least and the most distance from the border's leg at which a train is foul.

        The third value is True if a measure gives them.
        """
        leg = border.leg
        found = None if leg is None else self.layout.element(leg)
        if leg is None or found is None or leg.leg == "toe" or isinstance(found[1], Turntable):
            return 0.0, 0.0, True
        element = found[1]
        angled = element.angle_degrees is not None or element.crossing_number is not None
        angled = angled or (isinstance(element, Points) and bool(element.curves))
        # At a signal, only measured fouling places count.
        if not self.with_posts and (not angled or (border.held and element.leg_mm is None)):
            return 0.0, inf, False
        return self.partings.beyond(leg)


def passing_apart(layout: Layout) -> float | None:
    """Return the spacing of tracks at which stock passes, in mm; None if it is unknown."""
    if layout.spacing_mm is not None:
        return layout.spacing_mm
    from trappoint.dimensions.clearances import passing_spacing
    from trappoint.dimensions.scales import scale_of

    spacing = passing_spacing(layout, scale_of(layout))
    return spacing[0] if spacing else None


def about(network: Network, state: int) -> int:
    """Return the state of a train in the same section with the opposite heading."""
    down, up = network.states_of[network.place_of[state]]
    return up if state == down else down


def run_over(network: Network, state: int) -> tuple[Piece, ...]:
    """Return the pieces of a section in the order in which a train in this state meets them."""
    pieces = network.pieces[network.place_of[state]]
    return pieces[::-1] if network.heading(state) == "up" else pieces


def piece_length(network: Network, piece: Piece) -> float | None:
    """Return the length of a piece of a track in mm; None if it is missing."""
    cuts = network.cuts[piece.track]
    start = cuts[piece.part - 1] if piece.part else 0.0
    if piece.part < len(cuts):
        return cuts[piece.part] - start
    return _less(network.layout.tracks[piece.track].length_mm, start)


def place_length(network: Network, place: int) -> float | None:
    """Return the length of a section in mm; None if a length is missing."""
    return total(piece_length(network, piece) for piece in network.pieces[place])


def total(lengths: Iterable[float | None]) -> float | None:
    """Return the sum of lengths; None if one of them is None."""
    known = 0.0
    for length in lengths:
        if length is None:
            return None
        known += length
    return known


def _less(length: float | None, start: float) -> float | None:
    return None if length is None else length - start
