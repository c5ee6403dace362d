"""Rules on posts: whether one may stand where it does, beside a track or between two.

They are silent where no distance is given, and where no standard that could be looked up says how
much room stock needs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.dimensions.clearances import Clearance
    from trappoint.dimensions.scales import Scale
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Layout, Signal

_UNSEEN_MM = 0.05
"""Less than this is not seen on a model: it is not told."""

_WHERE_IT_CURVES = (
    "The radius is the tightest of the whole track: where the post stands the track may be "
    "straighter."
)


def millimetres(length: float) -> str:
    """Write a length: to the millimetre, small ones to the tenth."""
    return f"{length:,.0f} mm" if length >= 100 else f"{round(length, 1):g} mm"


def _scale(layout: Layout) -> Scale | None:
    from trappoint.dimensions.scales import scale_of

    return scale_of(layout)


def _need(layout: Layout, scale: Scale, signal: Signal) -> Clearance | None:
    from trappoint.dimensions.clearances import post_need

    lengths = [t.longest_coach_mm for t in layout.trains.values() if t.longest_coach_mm is not None]
    radius = layout.tracks[signal.track].radius_mm
    return post_need(scale, radius, max(lengths, default=None))


def _asked(need: Clearance, has_mm: float) -> tuple[float, bool] | None:
    """Return what is needed beside a post that has too little, and whether only on the curve."""
    if has_mm < need.straight_mm - _UNSEEN_MM:
        return need.straight_mm, False
    if need.curve is not None and has_mm < need.curve.least - _UNSEEN_MM:
        return need.curve.most, True
    return None


def _source(need: Clearance, curved: bool) -> str:
    return need.source + (", NEM 103" if curved else "") + (", from memory" * need.from_memory)


def _near_posts(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    posts = [s for s in layout.signals.values() if s.mount != "ground" and s.from_centre_mm]
    scale = _scale(layout) if posts else None
    for signal in posts if scale is not None else ():
        need = _need(layout, scale, signal) if scale is not None else None
        half = (signal.post_mm or 0) / 2
        near = max(0.0, (signal.from_centre_mm or 0) - half)
        asked = _asked(need, near) if need is not None else None
        if need is None or asked is None:
            continue
        least, curved = asked
        on_curve = " where it curves" if curved else ""
        yield NEAR_POST.finding(
            pointer_to("signals", signal.id, "from_centre_mm"),
            f"The post of signal {signal.id} comes within {millimetres(near)} of the centre of "
            f"{signal.track}; stock needs {millimetres(least)}{on_curve} "
            f"({_source(need, curved)}).",
            f"Put its middle at least {millimetres(least + half)} from the centre of the track.",
            path=(signal.id, signal.track),
            level="note" if curved or need.from_memory else None,
            why=_WHERE_IT_CURVES if curved else "",
        )


def _between_tracks(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    posts = [s for s in layout.signals.values() if s.mount != "ground" and s.spacing_mm]
    scale = _scale(layout) if posts else None
    for signal in posts if scale is not None else ():
        need = _need(layout, scale, signal) if scale is not None else None
        spacing, thick = signal.spacing_mm or 0, signal.post_mm or 0
        asked = _asked(need, (spacing - thick) / 2) if need is not None else None
        if need is None or asked is None or scale is None:
            continue
        least, curved = asked
        on_curve = ", where they curve" if curved else ""
        yield NO_ROOM.finding(
            pointer_to("signals", signal.id, "spacing_mm"),
            f"There is no room for the post of signal {signal.id} between two tracks "
            f"{millimetres(spacing)} apart{on_curve}: {millimetres(least)} are needed on each side "
            f"of it ({_source(need, curved)}), {millimetres(2 * least + thick)} in all."
            + _passing(layout, scale, signal),
            "Put it on the outer side, on a bracket or gantry that reaches over, or use a ground "
            "signal.",
            path=(signal.id, signal.track),
            level="note" if curved or need.from_memory else None,
            why=_WHERE_IT_CURVES if curved else "",
        )


def _passing(layout: Layout, scale: Scale, signal: Signal) -> str:
    """Say at which spacing stock itself passes, on straight track and where it curves."""
    from trappoint.dimensions.clearances import passing_spacing, spacing_on_curve

    found = passing_spacing(layout, scale)
    if found is None:
        return ""
    radius = layout.tracks[signal.track].radius_mm
    curve = None if radius is None else spacing_on_curve(scale, radius)
    curved = "" if curve is None else f", with the longest coaches {millimetres(curve.most)} "
    where = "" if curve is None else f"on a curve of {millimetres(radius or 0)}"
    return f" Stock itself passes at {millimetres(found[0])} ({found[1]}){curved}{where}."


NEAR_POST = Rule(
    "post-too-near-track",
    "warning",
    "facts",
    "a post that stands in the way of stock",
    "What leans, swings out on curves or is loaded wide would strike it.",
    "NEM 102 (2017), structure gauge, BL1; NEM 103 (2016), widening on curves; Findlay, p. 84: no "
    "signal within 4 ft 6 in of a passenger line of rails",
    {"scale": "H0", "signals": {"2": {"from_centre_mm": 24, "post_mm": 3}}},
    {"scale": "H0", "signals": {"2": {"from_centre_mm": 25.5, "post_mm": 3}}},
    _near_posts,
)

NO_ROOM = Rule(
    "no-room-between-tracks",
    "warning",
    "facts",
    "a post between two tracks that are too near one another for it",
    "Tracks at the spacing at which trains just pass leave no room for anything between them.",
    "NEM 102 (2017), structure gauge, BL1, on each side; NEM 112, H0: 46 mm, in stations 52 mm",
    {"scale": "H0", "signals": {"2": {"spacing_mm": 46, "post_mm": 3}}},
    {"scale": "H0", "signals": {"2": {"spacing_mm": 52, "post_mm": 3}}},
    _between_tracks,
)
