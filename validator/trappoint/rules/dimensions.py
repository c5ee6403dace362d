"""Rules on what fits: scales, fouling places and distants.

They are silent where a measure is not given. None of them is ever an error: what stock does on a
model is seen best by trying it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed, quoted
from trappoint.rules import dimensions_posts, dimensions_trains
from trappoint.rules.dimensions_posts import millimetres as mm
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Crossing, Layout, Points


def _hinges_on_scale(layout: Layout) -> str:
    """Name what hangs on the scale; nothing where nothing does."""
    for signal in layout.signals.values():
        if signal.from_centre_mm is not None or signal.spacing_mm is not None:
            return f"how far the post of signal {signal.id} must stand from the track"
    if layout.spacing_mm is None:
        for element in _elements(layout):
            angle = element.angle_degrees or element.crossing_number
            if element.leg_mm is not None and angle is not None:
                return f"where a train fouls {element.id}"
    return ""


def _elements(layout: Layout) -> list[Points | Crossing]:
    return [*layout.points.values(), *layout.crossings.values()]


def _needs_standard(facts: Facts) -> Iterator[Finding]:
    hinge = _hinges_on_scale(facts.layout) if facts.layout.scale else ""
    if not hinge:
        return
    from trappoint.dimensions.scales import alike, meanings, tell_ratio

    found = meanings(facts.layout)
    if found and not alike(found):
        told = [
            f"{tell_ratio(one.ratio)}"
            + (f" on {one.gauge_mm:g} mm" if one.gauge_mm else "")
            + f" ({one.standard}{', from memory' if one.from_memory else ''})"
            for one in found
        ]
        yield NEEDS_STANDARD.finding(
            "/scale",
            f"{facts.layout.scale} means different things: {listed(told)}. So it is not known "
            f"{hinge}.",
            "Say whose meaning it is: "
            + listed([f'"standard": "{one.standard}"' for one in found])
            + "; or give gauge_mm.",
        )


def _not_known(facts: Facts) -> Iterator[Finding]:
    hinge = _hinges_on_scale(facts.layout) if facts.layout.scale else ""
    if not hinge:
        return
    from trappoint.dimensions.scales import meanings, scales_named

    if not meanings(facts.layout):
        standards = {one.standard or "" for one in scales_named(facts.layout.scale)}
        whose = f" in {facts.layout.standard}" if standards and facts.layout.standard else ""
        yield NOT_KNOWN.finding(
            "/scale",
            f"The scale {quoted(facts.layout.scale)} is not known{whose}, so it is not known "
            f"{hinge}.",
            'Write its usual name ("OO"), a ratio ("1:76.2") or millimetres to the foot ("4 mm").',
        )


def _gauge_differs(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    if layout.gauge_mm is None or not layout.scale:
        return
    from trappoint.dimensions.scales import has_gauge, meanings

    found = meanings(layout)
    named = [one for one in found if one.gauge_mm is not None]
    if named and len(named) == len(found) and not any(has_gauge(o, layout.gauge_mm) for o in named):
        gauges = listed(list(dict.fromkeys(f"{one.gauge_mm:g}" for one in named)))
        yield GAUGE_DIFFERS.finding(
            "/gauge_mm",
            f"{layout.scale} has track of {gauges} mm, and not of {layout.gauge_mm:g} mm.",
            "Name the scale after its gauge as well (narrow gauges and finer standards have names "
            "of their own), write it as a ratio, or put gauge_mm right.",
        )


def _foul(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    if not any(element.leg_mm for element in _elements(layout)) and not any(
        signal.spacing_mm for signal in layout.signals.values()
    ):
        return
    from trappoint.dimensions.clearances import passing_spacing
    from trappoint.dimensions.parting import Partings
    from trappoint.dimensions.rooms import before_element, joint_ends
    from trappoint.dimensions.scales import scale_of

    spacing = passing_spacing(layout, scale_of(layout))
    if spacing is None:
        return
    joints, partings = joint_ends(layout), Partings(layout, spacing[0])
    for head, state in zip(facts.network.heads, facts.network.held_at, strict=True):
        if state < 0 or head.elsewhere:
            continue  # It stands in a yard and has no effect, or on the neighbouring board.
        away, track, heading = before_element(layout, joints, head)
        end = track.end(heading)
        foul, most = partings.beyond(end)[:2]
        if away is None or foul - away <= 0.5:
            continue
        least = "" if foul == most else "at least "
        yield FOUL.finding(
            pointer_to("signals", head.signal),
            f"A train held at signal {head.signal} stands foul of {end.name}: the signal is "
            f"{mm(away)} from {end.text}, and the fouling place {least}{mm(foul)}.",
            f"Put it {mm(foul - away)} farther back: let {head.track} end there at a joint, with a "
            f"short track beyond it on which no train stands.",
            path=(head.signal, end.name),
            why=f"Tracks {mm(spacing[0])} apart are clear of one another ({spacing[1]}).",
            at_key=True,
        )


def _near_distant(facts: Facts) -> Iterator[Finding]:
    from trappoint.dimensions.distances import (
        FINDLAY_YARDS,
        QUARTER_MILE_YARDS,
        distant_distances,
        in_yards,
        scaled_yards,
    )
    from trappoint.dimensions.scales import ratio_of

    ratio = ratio_of(facts.layout)
    if ratio is None:
        return
    quarter, full = (scaled_yards(y, ratio) for y in (QUARTER_MILE_YARDS, FINDLAY_YARDS))
    for found in distant_distances(facts):
        if found.model_mm < quarter:
            yield NEAR_DISTANT.finding(
                pointer_to("signals", found.signal, "arms", found.arm_index),
                f"Distant {found.arm} stands {mm(found.model_mm)} before signal {found.to}, "
                f"{in_yards(found.model_mm, ratio):,.0f} yards in scale. A quarter of a mile is "
                f"{mm(quarter)}; the 1,000 yards of practice are {mm(full)}.",
                "Nothing, as a rule: put it as far out as there is room for, before a scenic break "
                "if you can.",
                path=(found.arm, found.to),
            )


_ONE_IN_EIGHT = {"crossing_number": 8, "leg_mm": 150}

NEEDS_STANDARD = Rule(
    "scale-needs-standard",
    "note",
    "facts",
    "a scale whose name means different things, where something depends on it",
    "One name can stand for several ratios and gauges, and each has clearances of its own.",
    "NEM 010 (2011); NMRA S-1.2 and S-3.2; British practice: OO is 16.5 mm there and 19.1 mm here",
    {"signals": {"2": {"from_centre_mm": 40}}},
    {"standard": "British", "signals": {"2": {"from_centre_mm": 40}}},
    _needs_standard,
)

NOT_KNOWN = Rule(
    "scale-not-known",
    "note",
    "facts",
    "a scale that is not known, where something depends on it",
    "Clearances follow from the scale; without it they can not be told.",
    "NEM 010 (2011); NMRA S-1.2; British practice, millimetres to the foot",
    {"scale": "Oh-Oh", "signals": {"2": {"from_centre_mm": 40}}},
    {"scale": "1:76.2", "signals": {"2": {"from_centre_mm": 40}}},
    _not_known,
)

GAUGE_DIFFERS = Rule(
    "gauge-against-scale",
    "note",
    "facts",
    "a gauge that the named scale does not have",
    "A name stands for a ratio and a gauge; with another gauge it is another standard.",
    "NEM 010 (2011); NMRA S-3.2; British practice: OO 16.5, EM 18.2, P4 18.83 mm",
    {"gauge_mm": 18.2},
    {"scale": "EM", "gauge_mm": 18.2},
    _gauge_differs,
)

FOUL = Rule(
    "signal-foul-of-points",
    "warning",
    "facts",
    "a stop signal at which a train stands foul of another track",
    "A train must stand behind the place where two tracks come too near for another one to pass. "
    "Tracks that give no radius_mm are taken to be straight; of those that do, it is the nearest "
    "place that is possible.",
    "the fouling place, where tracks are no farther apart than stock needs to pass; Findlay, "
    "p. 83: junction signals far enough from it to allow a small overrun",
    {"standard": "British", "points": {"p1": _ONE_IN_EIGHT}},
    {
        "standard": "British",
        "points": {"p1": _ONE_IN_EIGHT},
        "tracks": {
            "throat-right": {"up": "p1.right", "down": "joint:main", "length_mm": 210},
            "main": {"up": "joint:main", "length_mm": 1240},
            "throat-left": {"up": "p1.left", "down": "joint:loop", "length_mm": 210},
            "loop-west": {"up": "joint:loop", "length_mm": 710},
        },
    },
    _foul,
)

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
    "distant-nearer-than-practice",
    "note",
    "facts",
    "a distant nearer to its stop signal than it would be in scale",
    "A distant tells so early that a train can still stop. Models compress this, as they compress "
    "everything along the line: few have room for it, and none needs it to hold.",
    "Findlay, Working and Management of an English Railway, pp. 82-84: 1,000 yards before the "
    "home; British absolute block: the quarter of a mile of the clearing point",
    _DISTANT,
    {**_DISTANT, "tracks": {"town-line": {"length_mm": 6000}}},
    _near_distant,
    optional=True,
)

DIMENSION_RULES: tuple[Rule, ...] = (
    NEEDS_STANDARD,
    NOT_KNOWN,
    GAUGE_DIFFERS,
    FOUL,
    dimensions_trains.NOWHERE,
    dimensions_trains.LONGER,
    dimensions_trains.TOO_LONG,
    dimensions_trains.LONG_PLATFORM,
    NEAR_DISTANT,
    dimensions_posts.NEAR_POST,
    dimensions_posts.NO_ROOM,
)
"""All of them, in the order in which they are asked."""
