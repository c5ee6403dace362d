"""What a plan leaves open about the place of a post, and the usual values, each with its source.

Nothing here changes the plan: a value is taken only for the sheet, and the sheet names the key that
says it better. A post that stands foul of points is moved back by as much as the measures give: a
train that it holds must be clear of the other leg, and so must the post, if it stands on that
side of its track.
"""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING, NamedTuple

from trappoint.dimensions.clearances import passing_spacing, post_need
from trappoint.dimensions.fouling import element_angle
from trappoint.dimensions.parting import Beyond, Partings
from trappoint.dimensions.scales import scale_of
from trappoint.dimensions.standing_foul import LEAST_MM, back_from, legs_ahead, moved_back

if TYPE_CHECKING:
    from trappoint.dimensions.clearances import Clearance
    from trappoint.dimensions.standing_foul import Ahead
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Crossing, Points, Signal

LEFT = (
    "signals stand to the left of their road (G. Findlay, The Working and Management of an English "
    "Railway, pp. 82-84)"
)


class Taken(NamedTuple):
    """A value that the plan does not give, and that the sheet takes as usual."""

    key: str
    """The key of the signal that would give it."""
    value: str | float | None
    """None if no published value applies."""
    source: str
    """Why it is usual, with its source; or why there is none."""


class MovedBack(NamedTuple):
    """A post that must stand farther back than the plan puts it."""

    by_mm: float
    from_leg_mm: float
    """Its least distance from the leg, along the track."""
    leg: str
    """The leg ahead, as the plan names it: ``p1.left``."""
    surely: bool
    """False if measures give only the least distance."""
    because: str
    """``train``: a train held there is foul; ``post``: the post itself is in the way."""
    at_mm: float | None
    """The place along its track from its up end; None if a length is missing, or too short."""


class Openings(NamedTuple):
    """What a plan leaves open about one post."""

    taken: tuple[Taken, ...] = ()
    moved: MovedBack | None = None
    wanted: tuple[str, ...] = ()
    """A sentence for each measure without which the fouling place is unknown."""


class UsualPlaces:
    """The usual places of the posts of one plan."""

    def __init__(self, facts: Facts) -> None:
        layout = self.layout = facts.layout
        self.scale = scale_of(layout)
        self.passing = passing_spacing(layout, self.scale)
        self.ahead: dict[str, Ahead] = {}
        for found in legs_ahead(facts):
            signal = layout.signals[found.head.signal]
            own = (found.head.track, found.head.heading) == (signal.track, signal.heading)
            if own:
                self.ahead.setdefault(signal.id, found)
        coaches = (train.longest_coach_mm for train in layout.trains.values())
        self.coach = max((coach for coach in coaches if coach is not None), default=None)
        self.partings = Partings(layout, None if self.passing is None else self.passing[0])

    def of(self, signal: Signal) -> Openings:
        """Return what the plan leaves open about the post of a signal."""
        taken = []
        if signal.side is None:
            taken.append(Taken("side", "left", LEFT))
        centre = signal.from_centre_mm
        if centre is None:
            taken.append(self._centre(signal))
            found = taken[-1].value
            centre = found if isinstance(found, float) else None
        ahead = self.ahead.get(signal.id)
        if ahead is None:
            return Openings(tuple(taken), None, ())
        moved = self._moved(signal, ahead, centre)
        return Openings(tuple(taken), moved, self._wanted(ahead))

    def _need(self, signal: Signal) -> Clearance | None:
        if self.scale is None or signal.mount == "ground":
            return None
        return post_need(self.scale, self.layout.tracks[signal.track].radius_mm, self.coach)

    def _centre(self, signal: Signal) -> Taken:
        """Return the least distance of the middle of a post from its track that is published."""
        need = self._need(signal)
        if need is None:
            why = "no published distance applies to this scale"
            if self.scale is None:
                why = "the plan gives no scale, or one with several meanings"
            elif signal.mount == "ground":
                why = "signals on the ground may be nearer than posts"
            return Taken("from_centre_mm", None, why)
        least = need.straight_mm if need.curve is None else need.curve.most
        half = (signal.post_mm or 0.0) / 2
        source = need.source + (", NEM 103" if need.curve is not None else "")
        if need.unconfirmed:
            source += f"; {' and '.join(need.unconfirmed)}: unconfirmed value"
        thick = "half the post" if signal.post_mm else "add half the thickness of the post"
        return Taken("from_centre_mm", round(least + half, 2), f"{source}; {thick}")

    def _moved(self, signal: Signal, ahead: Ahead, centre: float | None) -> MovedBack | None:
        away = ahead.away_mm
        if away is None:
            return None
        foul, because = self.partings.beyond(ahead.end), "train"
        beside = self._post_in_the_way(signal, ahead, centre)
        if beside.least > foul.least:
            foul, because = beside, "post"
        if foul.least - away <= LEAST_MM:
            return None
        back = back_from(foul, away)
        at = moved_back(self.layout, ahead.head, back)
        return MovedBack(
            round(back, 1), round(back + away, 1), ahead.end.text, not isinf(foul.most), because, at
        )

    def _post_in_the_way(self, signal: Signal, ahead: Ahead, centre: float | None) -> Beyond:
        """Return the distance from the leg at which a post is too near the other leg's track."""
        need, end = self._need(signal), ahead.end
        points = self.layout.points.get(end.name) if end.kind == "leg" else None
        if need is None or centre is None or points is None or end.leg not in points.lies:
            return Beyond(0.0, 0.0, True)
        lies = points.lies
        # A driver who runs to the toe has on the left the legs that are on the right, seen from it.
        others = lies[lies.index(end.leg) + 1 :]
        if (signal.side or "left") == "right":
            others = lies[: lies.index(end.leg)]
        if not others:
            return Beyond(0.0, 0.0, True)
        least = need.straight_mm if need.curve is None else need.curve.most
        apart = centre + least + (signal.post_mm or 0.0) / 2
        return Partings(self.layout, apart).beyond(end)

    def _wanted(self, ahead: Ahead) -> tuple[str, ...]:
        """Return the measures without which the fouling place of the leg ahead is unknown."""
        found, end = self.layout.element(ahead.end), ahead.end
        if found is None or end.leg == "toe" or found[0] == "turntables":
            return ()
        element: Points | Crossing
        element = (self.layout.points if found[0] == "points" else self.layout.crossings)[end.name]
        angled = element_angle(element) is not None or bool(getattr(element, "curves", False))
        keys = [] if angled else ["crossing_number or angle_degrees"]
        keys += [] if element.leg_mm is not None else ["leg_mm"]
        wanted = []
        if keys:
            most = self.partings.beyond(end).most
            known = "" if isinf(most) else f" It is at most {most:,.0f} mm from {end.text}."
            wanted.append(
                f"Where trains foul {end.name} is unknown: give its {' and '.join(keys)}.{known}"
            )
        if self.passing is None:
            wanted.append("Where stock passes is unknown: give spacing_mm, or a scale.")
        if ahead.away_mm is None:
            wanted.append(f"How far it is from {end.text} is unknown: give length_mm of the track.")
        return tuple(wanted)
