"""Rules on the scale: its name has one meaning, and its gauge fits it.

They find nothing in a plan in which nothing depends on the scale.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed, quoted
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Crossing, Layout, Points


def _hinges_on_scale(layout: Layout) -> str:
    """Return a clause with a question that depends on the scale, empty if none does."""
    for signal in layout.signals.values():
        if signal.from_centre_mm is not None or signal.spacing_mm is not None:
            return f"how far the post of signal {signal.id} must be from the track"
    if layout.spacing_mm is None:
        elements: list[Points | Crossing] = [*layout.points.values(), *layout.crossings.values()]
        for element in elements:
            angle = element.angle_degrees or element.crossing_number
            angle = angle or getattr(element, "curves", None)
            if element.leg_mm is not None and angle:
                return f"where a train fouls {element.id}"
    return ""


NEEDS_STANDARD = Rule(
    id="scale-needs-standard",
    level="note",
    stage="facts",
    summary="a scale whose name has several meanings",
    why="One name can mean several ratios and gauges, each with its own clearances.",
    source=(
        "NEM 010 (MOROP, 2011); NMRA S-1.2 and S-3.2; British OO on 16.5 mm: common practice, no "
        "source"
    ),
    fails={"signals": {"2": {"from_centre_mm": 40}}},
    passes={"standard": "British", "signals": {"2": {"from_centre_mm": 40}}},
)


@NEEDS_STANDARD.checked_by
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
            + f" ({one.standard}{', unconfirmed value' if one.unconfirmed else ''})"
            for one in found
        ]
        yield NEEDS_STANDARD.finding(
            "/scale",
            f"{facts.layout.scale} has several meanings: {listed(told)}, so the check does not "
            f"know {hinge}.",
            "Add "
            + listed([f'"standard": "{one.standard}"' for one in found])
            + ", or add gauge_mm.",
        )


NOT_KNOWN = Rule(
    id="scale-not-known",
    level="note",
    stage="facts",
    summary="an unknown scale",
    why="Clearances depend on the scale.",
    source="NEM 010 (MOROP, 2011); NMRA S-1.2",
    fails={"scale": "Oh-Oh", "signals": {"2": {"from_centre_mm": 40}}},
    passes={"scale": "1:76.2", "signals": {"2": {"from_centre_mm": 40}}},
)


@NOT_KNOWN.checked_by
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
            f"The scale {quoted(facts.layout.scale)} is unknown{whose}, so the check does not know "
            f"{hinge}.",
            'Write its usual name ("OO"), a ratio ("1:76.2") or millimetres to the foot ("4 mm").',
        )


GAUGE_DIFFERS = Rule(
    id="gauge-against-scale",
    level="note",
    stage="facts",
    summary="a gauge that the named scale does not have",
    why="The name of a scale means a ratio and a gauge; another gauge has another name.",
    source=(
        "NEM 010 (MOROP, 2011); NMRA S-3.2; the EM and P4 standards; British OO: common practice, "
        "no source"
    ),
    fails={"gauge_mm": 18.2},
    passes={"scale": "EM", "gauge_mm": 18.2},
)


@GAUGE_DIFFERS.checked_by
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
            f"Scale {layout.scale} has a gauge of {gauges} mm, but gauge_mm is "
            f"{layout.gauge_mm:g}.",
            "Write the name of the scale with this gauge (narrow gauges and finer standards have "
            "their own), write the scale as a ratio, or correct gauge_mm.",
        )
