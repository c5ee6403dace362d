"""Rules on the distance of a signal from tracks, points and other signals.

They check only distances that the plan gives, and only scales with a known clearance.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_DRILLING, pointer_to
from trappoint.core.quoting import millimetres as mm
from trappoint.core.quoting import number
from trappoint.rules.route_phrases import thing
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from trappoint.core.findings import Finding
    from trappoint.dimensions.clearances import Clearance
    from trappoint.dimensions.scales import Scale
    from trappoint.dimensions.standing_foul import StandsFoul
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Layout, Signal

_UNSEEN_MM = 0.05
"""The least difference that is reported, in millimetres: nobody sees less on a model."""

_WHERE_IT_CURVES = (
    "The radius is the tightest of the whole track; beside the post, the track may be straighter."
)


def _scale(layout: Layout) -> Scale | None:
    """Return the scale of a plan, None if it is not known."""
    from trappoint.dimensions.scales import scale_of

    return scale_of(layout)


def _need(layout: Layout, scale: Scale, signal: Signal) -> Clearance | None:
    """Return the room that stock needs beside a post, None if no standard gives it."""
    from trappoint.dimensions.clearances import post_need

    lengths = [t.longest_coach_mm for t in layout.trains.values() if t.longest_coach_mm is not None]
    radius = layout.tracks[signal.track].radius_mm
    return post_need(scale, radius, max(lengths, default=None))


def _asked(need: Clearance, has_mm: float) -> tuple[float, bool] | None:
    """Return the room needed beside a post in millimetres, and whether a curve needs it.

    Returns None if the post has room enough.
    """
    if has_mm < need.straight_mm - _UNSEEN_MM:
        return need.straight_mm, False
    if need.curve is not None and has_mm < need.curve.least - _UNSEEN_MM:
        return need.curve.most, True
    return None


def _half(signal: Signal) -> float:
    """Return half the thickness of a post in millimetres, 0 if the plan does not give it."""
    return (signal.post_mm or 0) / 2


def _hindering(
    facts: Facts, measured: Callable[[Signal], float | None], room: Callable[[Signal], float]
) -> Iterator[tuple[Signal, Scale, Clearance, float, bool]]:
    """Yield each post with too little room, the room needed, and whether a curve needs it.

    ``measured`` returns the distance that the plan gives, None or 0 if it gives none; ``room``
    returns the room from the middle of the track to the post.
    """
    layout = facts.layout
    posts = [s for s in layout.signals.values() if s.mount != "ground" and measured(s)]
    scale = _scale(layout) if posts else None
    if scale is None:
        return
    for signal in posts:
        need = _need(layout, scale, signal)
        asked = None if need is None else _asked(need, room(signal))
        if need is not None and asked is not None:
            yield signal, scale, need, *asked


def _source(need: Clearance, curved: bool) -> str:
    """Return the standard that requires the clearance."""
    parts = " and ".join(need.unconfirmed)
    unconfirmed = f"; {parts}: unconfirmed value" if parts else ""
    return need.source + (", NEM 103" if curved else "") + unconfirmed


NEAR_POST = Rule(
    id="post-too-near-track",
    level="warning",
    stage="facts",
    summary="a post too near its track",
    why="A vehicle that leans, swings out on a curve or has a wide load would strike the post.",
    source=(
        "NEM 102 (MOROP, 2017), BL1; NEM 103 (MOROP, 2016); G. Findlay, The Working and "
        "Management of an English Railway, p. 84: 4 ft 6 in from a passenger line of rails"
    ),
    caution=CAUTION_DRILLING,
    fails={"scale": "H0", "signals": {"2": {"from_centre_mm": 24, "post_mm": 3}}},
    passes={"scale": "H0", "signals": {"2": {"from_centre_mm": 25.5, "post_mm": 3}}},
)


@NEAR_POST.checked_by
def _near_posts(facts: Facts) -> Iterator[Finding]:
    def near(signal: Signal) -> float:
        return max(0.0, (signal.from_centre_mm or 0) - _half(signal))

    for signal, _, need, least, curved in _hindering(facts, lambda s: s.from_centre_mm, near):
        on_curve = " where it curves" if curved else ""
        yield NEAR_POST.finding(
            pointer_to("signals", signal.id, "from_centre_mm"),
            f"The post of {thing(facts, 'signals', signal.id)} is only {mm(near(signal))} from the "
            f"centre of {facts.names.called('tracks', signal.track)}; stock needs "
            f"{mm(least)}{on_curve} ({_source(need, curved)}).",
            f"Put the middle of the post at least {mm(least + _half(signal))} from the centre of "
            f"{signal.track}.",
            path=(signal.id, signal.track),
            level="note" if curved or need.unconfirmed else None,
            why=_WHERE_IT_CURVES if curved else "",
        )


NO_ROOM = Rule(
    id="no-room-between-tracks",
    level="warning",
    stage="facts",
    summary="a post between two tracks too near each other for it",
    why="Tracks far enough apart for trains to pass may have no room for a post between them.",
    source=(
        "NEM 102 (MOROP, 2017), BL1, on each side; NEM 112 (MOROP), H0: 46 mm, in stations 52 mm"
    ),
    caution=CAUTION_DRILLING,
    fails={"scale": "H0", "signals": {"2": {"spacing_mm": 46, "post_mm": 3}}},
    passes={"scale": "H0", "signals": {"2": {"spacing_mm": 52, "post_mm": 3}}},
)


@NO_ROOM.checked_by
def _between_tracks(facts: Facts) -> Iterator[Finding]:
    def beside(signal: Signal) -> float:
        return (signal.spacing_mm or 0) / 2 - _half(signal)

    for signal, scale, need, least, curved in _hindering(facts, lambda s: s.spacing_mm, beside):
        spacing, thick = signal.spacing_mm or 0, signal.post_mm or 0
        on_curve = ", where they curve" if curved else ""
        yield NO_ROOM.finding(
            pointer_to("signals", signal.id, "spacing_mm"),
            f"The post of {thing(facts, 'signals', signal.id)} has no room between two tracks "
            f"{mm(spacing)} apart{on_curve}: it needs {mm(least)} on each side "
            f"({_source(need, curved)}), {mm(2 * least + thick)} in all."
            + _passing(facts.layout, scale, signal),
            "Put the post on the outer side, use a bracket or gantry that reaches over, or use a "
            "ground signal.",
            path=(signal.id, signal.track),
            level="note" if curved or need.unconfirmed else None,
            why=_WHERE_IT_CURVES if curved else "",
        )


def _passing(layout: Layout, scale: Scale, signal: Signal) -> str:
    """Return a sentence on the spacing at which stock passes, on straight and curved track."""
    from trappoint.dimensions.clearances import passing_spacing, spacing_on_curve

    found = passing_spacing(layout, scale)
    if found is None:
        return ""
    radius = layout.tracks[signal.track].radius_mm
    curve = None if radius is None else spacing_on_curve(scale, radius)
    curved = "" if curve is None else f", with the longest coaches {mm(curve.most)} "
    where = "" if curve is None else f"on a curve of {mm(radius or 0)}"
    return f" Trains pass each other at {mm(found[0])} ({found[1]}){curved}{where}."


_ONE_IN_EIGHT = {"crossing_number": 8, "leg_mm": 150}

FOUL = Rule(
    id="signal-foul-of-points",
    level="warning",
    stage="facts",
    summary="a stop signal at which a train stands foul of another track",
    why=(
        "A train must stand clear of the fouling place, where two tracks come too near for "
        "another train to pass. A track without `radius_mm` counts as straight; on a curve, the "
        "nearest possible place counts."
    ),
    source=(
        "G. Findlay, The Working and Management of an English Railway, p. 83: junction signals far "
        "enough from the fouling point to allow a small overrun"
    ),
    caution=CAUTION_DRILLING,
    fails={"standard": "British", "points": {"p1": _ONE_IN_EIGHT}},
    passes={
        "standard": "British",
        "points": {"p1": _ONE_IN_EIGHT},
        "tracks": {
            "throat-right": {"up": "p1.right", "down": "joint:main", "length_mm": 210},
            "main": {"up": "joint:main", "length_mm": 1240},
            "throat-left": {"up": "p1.left", "down": "joint:loop", "length_mm": 210},
            "loop-west": {"up": "joint:loop", "length_mm": 710},
        },
    },
)


@FOUL.checked_by
def _foul(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    legs = any(element.leg_mm for element in layout.points.values()) or any(
        element.leg_mm for element in layout.crossings.values()
    )
    if not legs and not any(signal.spacing_mm for signal in layout.signals.values()):
        return
    from trappoint.dimensions.clearances import passing_spacing
    from trappoint.dimensions.scales import scale_of
    from trappoint.dimensions.standing_foul import standing_foul

    spacing = passing_spacing(layout, scale_of(layout))
    if spacing is None:
        return
    for found in standing_foul(facts, spacing[0]):
        head, end, away, foul = found[:4]
        least = "" if foul.least == foul.most else "at least "
        yield FOUL.finding(
            pointer_to("signals", head.signal),
            f"A train held at {thing(facts, 'signals', head.signal)} stands foul of {end.name}: "
            f"the signal is {mm(away)} from {end.text}, and the fouling place {least}"
            f"{mm(foul.least)}.",
            _move_back(layout, found),
            path=(head.signal, end.name),
            why=f"Tracks {mm(spacing[0])} apart are clear of one another ({spacing[1]}).",
            at_key=True,
        )


def _move_back(layout: Layout, found: StandsFoul) -> str:
    """Return the fix: the signal's new place, or a track of its own if its track is too short."""
    from trappoint.dimensions.standing_foul import moved_back

    head = found.head
    at = moved_back(layout, head, found.back_mm)
    move = f"Put the signal {mm(found.back_mm)} farther back"
    if at is not None:
        return f'{move}: write "at_mm": {number(at)} in signal {head.signal}.'
    if layout.tracks[head.track].length_mm is None:
        return f"{move}: give the length_mm of {head.track}, and then the at_mm of the signal."
    return f"{move}, on the track before {head.track}."


_DISTANT = {
    "tracks": {"town-line": {"length_mm": 4000}},
    "signals": {
        "8": {
            "track": "town-line",
            "for": "down",
            "at_mm": 600,
            "arms": [{"id": "8", "kind": "distant", "repeats": ["1L", "1R"]}],
        }
    },
}

NEAR_DISTANT = Rule(
    id="distant-nearer-than-practice",
    level="note",
    stage="facts",
    summary="a distant nearer to its stop signal than it would be in scale",
    why=(
        "A distant must be far enough out for a train to stop; on a model, few layouts have the "
        "room, and the verdict does not need it."
    ),
    source=(
        "G. Findlay, The Working and Management of an English Railway, pp. 82-84: 1,000 yards "
        "before the home, 800 on a rising gradient"
    ),
    fails=_DISTANT,
    passes={**_DISTANT, "tracks": {"town-line": {"length_mm": 11000}}},
    optional=True,
)


@NEAR_DISTANT.checked_by
def _near_distant(facts: Facts) -> Iterator[Finding]:
    from trappoint.dimensions.distances import (
        FINDLAY_RISING_YARDS,
        FINDLAY_YARDS,
        distant_distances,
        in_yards,
        scaled_yards,
    )
    from trappoint.dimensions.scales import ratio_of

    ratio = ratio_of(facts.layout)
    if ratio is None:
        return
    rising, full = (scaled_yards(y, ratio) for y in (FINDLAY_RISING_YARDS, FINDLAY_YARDS))
    for found in distant_distances(facts):
        if found.model_mm < rising:
            yield NEAR_DISTANT.finding(
                pointer_to("signals", found.signal, "arms", found.arm_index),
                f"Distant {found.arm} stands {mm(found.model_mm)} before signal {found.to}, "
                f"{in_yards(found.model_mm, ratio):,.0f} yards in scale. 800 yards, the least that "
                f"the source gives, are {mm(rising)}; its usual 1,000 yards are {mm(full)}.",
                "Put it as far out as the layout has room, before a scenic break if you can.",
                path=(found.arm, found.to),
            )
