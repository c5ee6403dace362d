"""The fouling places of a plan, for each pair of neighbouring legs and each track at a leg.

The measures of the plan give the bounds of a fouling place:

- A track without ``radius_mm`` counts as straight. With ``curve`` too it curves to one hand from
  end to end, and the place is exact; without it, to either hand, anywhere. At a joint the line goes
  on with the next track.
- Legs with ``curves`` part along one tangent, and curve to their ends.
- Without ``leg_mm`` the leg ends somewhere beyond the meeting of the centre lines. This gives only
  the most distance from its end at which a train is foul.
- A crossover with equal angles at both ends makes its two lines parallel. Their spacing is its
  length times the sine of the angle. If stock needs more, no place along them is clear.
- A post between the two tracks with ``spacing_mm`` and ``side`` gives their spacing there. If stock
  passes, the fouling place is no farther on; if not, it is no nearer.
"""

from __future__ import annotations

from itertools import pairwise
from math import degrees, inf, radians, sin
from typing import TYPE_CHECKING, NamedTuple

from trappoint.dimensions.clearances import Bounds
from trappoint.dimensions.fouling import along_the_leg, element_angle
from trappoint.model.layout import HEADINGS, Points, opposite
from trappoint.topology.sections import joint_partners

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.dimensions.curves import Bend
    from trappoint.model.layout import Crossing, End, Hand, Heading, Layout, Signal, Track

    Element = Points | Crossing

MAX_TRACKS = 20
"""Most tracks in a row of joints that are followed."""

ALIKE_DEGREES = 0.01
"""Angles that differ by less, in degrees, count as equal."""

_CROSSING_PAIRS = (("a1", "b1"), ("a2", "b2"))
"""The neighbouring legs, with the smaller angle of the crossing between them."""


class Fouling(NamedTuple):
    """The fouling place of one pair of legs, lengths in mm."""

    element: str
    kind: str
    """``points`` or ``crossings``."""
    legs: tuple[str, str]
    angle_degrees: float
    """The angle between the ends of the legs."""
    along: Bounds
    """From the meeting of the centre lines, along either leg; equal bounds if straight."""
    beyond: Bounds
    """The same from the end of the leg; 0 if the fouling place is on the leg."""
    curved: bool
    """True if a leg or a track curves; otherwise both lines count as straight."""


class Beyond(NamedTuple):
    """The distance into a track at which a train fouls the neighbouring one, in mm."""

    least: float
    """A train that is nearer is foul."""
    most: float
    """A train at this distance or farther is clear; infinite if this is unknown."""
    measured: bool
    """True if measures give the place itself; False if they give at most an upper bound."""


CLEAR = Beyond(0.0, 0.0, True)
UNKNOWN = Beyond(0.0, inf, False)


def fouling_places(layout: Layout, apart_mm: float) -> list[Fouling]:
    """Return the fouling place of each pair of neighbouring legs with a known angle.

    Three-way points have two pairs; the outer legs are clear of each other sooner.
    """
    partings = Partings(layout, apart_mm)
    elements: list[Element] = [*layout.points.values(), *layout.crossings.values()]
    places = (partings.place(one, pair) for one in elements for pair in _pairs(one))
    return [place for place in places if place is not None]


def _pairs(element: Element) -> tuple[tuple[str, str], ...]:
    return tuple(pairwise(element.lies)) if isinstance(element, Points) else _CROSSING_PAIRS


def _kind(element: Element) -> str:
    return "points" if isinstance(element, Points) else "crossings"


class Partings:
    """The fouling places of a plan; stock passes at a spacing of ``apart_mm``."""

    def __init__(self, layout: Layout, apart_mm: float | None) -> None:
        self.layout = layout
        self.apart_mm = apart_mm
        self.on_leg: dict[tuple[str, str, str], tuple[Track, Heading]] = {}
        """The track at each leg, with the heading that leads to it."""
        self.partners = joint_partners(layout)
        self.bent = any(track.radius_mm is not None for track in layout.tracks.values()) or any(
            points.curves for points in layout.points.values()
        )
        """Whether anything curves; otherwise all lines are straight."""
        self.posts: dict[str, list[Signal]] = {}
        for track in layout.tracks.values():
            for heading in HEADINGS:
                end = track.end(heading)
                found = layout.element(end)
                if found is not None:
                    self.on_leg[found[0], end.name, end.leg] = track, heading
        for signal in layout.signals.values():
            if signal.spacing_mm is not None and signal.side is not None:
                self.posts.setdefault(signal.track, []).append(signal)

    def beyond(self, end: End) -> Beyond:
        """Return the distance from this end of a track at which a train fouls a neighbour."""
        found = self.layout.element(end)
        if found is None or end.leg == "toe" or found[0] == "turntables":
            return CLEAR
        element = (self.layout.points if found[0] == "points" else self.layout.crossings)[end.name]
        sides = [
            self._beside(element, pair, end.leg) for pair in _pairs(element) if end.leg in pair
        ]
        least, most = max(one.least for one in sides), max(one.most for one in sides)
        return Beyond(least, most, all(one.measured for one in sides))

    def place(self, element: Element, pair: tuple[str, str]) -> Fouling | None:
        """Return the fouling place of a pair of legs; None if their angle is unknown."""
        angle, bent = element_angle(element), isinstance(element, Points) and element.curves
        if (angle is None and not bent) or self.apart_mm is None:
            return None
        leg, curved = element.leg_mm, False
        if angle is not None:
            straight = along_the_leg(angle, self.apart_mm)
            along = Bounds(straight, straight)
        if self.bent:
            from trappoint.dimensions.curves import reach

            lines = self._line(element, pair[0], "left"), self._line(element, pair[1], "right")
            curved = any(bend.least or bend.most for line in lines for bend in line)
            if curved or angle is None:
                along = reach(angle or 0.0, lines, self.apart_mm)
            if angle is None:
                angle = degrees(sum(line[0].length_mm * line[0].least for line in lines))
        along = self._too_near(element, pair, along)
        beyond = Bounds(0.0, along.most)
        if leg is not None:
            beyond = Bounds(max(0.0, along.least - leg), max(0.0, along.most - leg))
        return Fouling(element.id, _kind(element), pair, angle or 0.0, along, beyond, curved)

    def _line(self, element: Element, leg: str, away: Hand) -> list[Bend]:
        """Return the centre line from the meeting over a leg; ``away`` is the hand of its outside.

        The legs of a crossing have no hands, so the hands of its tracks are unknown.
        """
        from trappoint.dimensions.curves import Bend, curvature

        own: float = 0.0
        if isinstance(element, Points):
            own = sum(
                curvature(curve.radius_mm) * (1 if curve.hand == away else -1)
                for curve in element.curves
                if curve.leg == leg
            )
        line = list(self._beyond_the_leg(element, leg, away))
        if element.leg_mm is not None:
            return [Bend(element.leg_mm, own, own), *line]
        # The curves begin anywhere beyond a leg of unknown length.
        least, most = min(bend.least for bend in line), max(bend.most for bend in line)
        return [Bend(sum(bend.length_mm for bend in line), min(least, 0.0), max(most, 0.0))]

    def _beyond_the_leg(self, element: Element, leg: str, away: Hand) -> Iterator[Bend]:
        """Yield the tracks at a leg, over joints; a straight one at the end goes on for ever."""
        from trappoint.dimensions.curves import Bend, curvature

        track, inward = self.on_leg[_kind(element), element.id, leg]
        for _ in range(MAX_TRACKS):
            joined = self.partners.get((track.id, opposite(inward)))
            bend = 0.0 if track.radius_mm is None else curvature(track.radius_mm)
            length = inf if track.length_mm is None else track.length_mm
            if joined is None and not bend:
                length = inf
            if track.curve is None or not isinstance(element, Points):
                yield Bend(length, -bend, bend)
            else:
                # Seen by a train that runs away from the points, up or down.
                same = (track.curve == away) == (inward == "up")
                yield Bend(length, bend if same else -bend, bend if same else -bend)
            if joined is None or length == inf:
                return
            track, inward = self.layout.tracks[joined[0]], joined[1]

    def _too_near(self, element: Element, pair: tuple[str, str], along: Bounds) -> Bounds:
        """Return the bounds, moved beyond a crossover whose two lines are too near each other."""
        for leg in pair:
            link = self._crossover(element, leg)
            if link is not None and self.apart_mm is not None and link[1] < self.apart_mm:
                along = Bounds(max(along.least, link[0]), inf)
        return along

    def _crossover(self, element: Element, leg: str) -> tuple[float, float] | None:
        """Return the length of a crossover and the spacing of its lines; None if unknown."""
        track, heading = self.on_leg[_kind(element), element.id, leg]
        far = track.end("up" if heading == "down" else "down")
        other = self.layout.points.get(far.name) if far.kind == "leg" else None
        if other is None or not isinstance(element, Points) or far.leg != leg:
            return None
        if other.kind != "turnout" or element.kind != "turnout" or track.radius_mm is not None:
            return None
        angle, there = element_angle(element), element_angle(other)
        lengths = (element.leg_mm, track.length_mm, other.leg_mm)
        if angle is None or there is None or abs(angle - there) > ALIKE_DEGREES or None in lengths:
            return None
        long = sum(length for length in lengths if length is not None)
        return long, long * sin(radians(angle))

    def _beside(self, element: Element, pair: tuple[str, str], leg: str) -> Beyond:
        place = self.place(element, pair)
        beyond = UNKNOWN
        if place is not None:
            beyond = Beyond(*place.beyond, element.leg_mm is not None)
        for away, spacing in self._spacings(element, pair, leg):
            if self.apart_mm is None:
                continue
            if spacing >= self.apart_mm and away <= beyond.most:
                beyond = beyond._replace(least=min(beyond.least, away), most=away)
            elif spacing < self.apart_mm and away > beyond.least:
                beyond = Beyond(away, max(beyond.most, away), measured=True)
        return beyond

    def _spacings(
        self, element: Element, pair: tuple[str, str], leg: str
    ) -> Iterator[tuple[float, float]]:
        """Yield the distance of each post from a leg's end, and the spacing of tracks there."""
        if not isinstance(element, Points):
            return
        track, to_it = self.on_leg["points", element.id, leg]
        for post in self.posts.get(track.id, ()):
            # Seen from the toe, the second leg of a pair is to the right of the first one.
            neighbour = "right" if leg == pair[0] else "left"
            if post.heading == to_it:
                neighbour = "left" if neighbour == "right" else "right"
            away = _from_end(track, to_it, post)
            if post.side == neighbour and away is not None and post.spacing_mm is not None:
                yield away, post.spacing_mm


def _from_end(track: Track, end: Heading, post: Signal) -> float | None:
    """Return the distance of a post from one end of its track in mm; None if unknown."""
    if post.at_mm is None and post.heading == end:
        return 0.0
    at = post.at_mm if post.at_mm is not None else 0.0 if post.heading == "up" else track.length_mm
    if end == "up" or at is None:
        return at
    return None if track.length_mm is None else track.length_mm - at
