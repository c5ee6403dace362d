"""Verb: the curve of a leg of points, or the leg made straight; offers of lengths and curves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.boards.turning import OTHER_HAND
from trappoint.laying.draft import as_tree, measure_of, spelled
from trappoint.laying.measures import LENGTH, POINTS, Word, mm
from trappoint.laying.offering import Ask, Offer, choice, offering
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import verb

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.laying.draft import Draft
    from trappoint.laying.offering import Spot


@verb(
    "set-leg-curve",
    "Gives the curve of a leg of points, or makes the leg straight. The points then have no angle.",
    points=POINTS,
    leg=Word(("left", "middle", "right")),
    hand=Word(("left", "right", "straight")),
    radius_mm=LENGTH,
    leg_mm=LENGTH,
)
def set_leg_curve(
    draft: Draft,
    points: str,
    leg: str,
    hand: str = "straight",
    radius_mm: float | None = None,
    leg_mm: float | None = None,
) -> str:
    """Write the curve of one leg; an angle of the points goes."""
    thing = draft.thing("points", points)
    if hand == "straight":
        curves = {key: curve for key, curve in thing.get("curves", {}).items() if key != leg}
        said = f"The {leg} leg of {points} is straight."
    else:
        if radius_mm is None:
            raise Refused("The step gives no radius.", "Add `radius_mm`: a length in mm.")
        for key in ("crossing_number", "measure", "angle_degrees"):
            thing.pop(key, None)
        new = {"hand": hand, "radius_mm": spelled(radius_mm)}
        curves = {**thing.get("curves", {}), leg: new}
        said = f"The {leg} leg of {points} curves to the {hand} with a radius of {mm(radius_mm)}."
    if leg_mm is not None:
        thing["leg_mm"] = spelled(leg_mm)
    if hand != "straight" and measure_of(thing, "leg_mm") is None:
        raise Refused(f"The legs of {points} have no length.", "Give `leg_mm` too.")
    put_curves(draft, points, curves)
    return said


def put_curves(draft: Draft, points: str, curves: Mapping[str, object]) -> None:
    """Write the curves of points by leg; without any, the key goes."""
    thing = draft.thing("points", points)
    thing.pop("curves", None)
    if curves:
        thing["curves"] = as_tree(dict(curves))
    draft.touch("points", points)


def mirror_curves(draft: Draft, points: str) -> None:
    """Exchange left and right of the curves of points."""
    curves = draft.thing("points", points).get("curves", {})
    for curve in curves.values():
        curve["hand"] = OTHER_HAND[curve["hand"]]
    put_curves(draft, points, {OTHER_HAND.get(leg, leg): curve for leg, curve in curves.items()})


def rename_curves(draft: Draft, points: str, legs: Mapping[str, str]) -> None:
    """Give the curves of points the new names of their legs; other curves go."""
    curves = draft.thing("points", points).get("curves", {})
    put_curves(draft, points, {legs[leg]: curve for leg, curve in curves.items() if leg in legs})


# --- offers


@offering("points", 40)
def offer_lengths(spot: Spot) -> Iterator[Offer]:
    """Offer the lengths of points, with the published ones as defaults if there are any."""
    from trappoint.dimensions.scales import scale_of
    from trappoint.dimensions.turnouts import SOURCE, published_lengths

    points, scale = spot.layout.points[spot.key], scale_of(spot.layout)
    step: dict[str, object] = {"do": "describe-points", "points": spot.key}
    usual = published_lengths(points.crossing_number, None if scale is None else scale.gauge_mm)
    leg, toe = points.leg_mm, points.toe_mm
    label = "Give the lengths of their legs and toe"
    if usual is not None and leg is None and toe is None:
        leg, toe = usual
        label += f" ({SOURCE})"
    asks = (
        Ask("leg_mm", "From the meeting to the ends of the legs", "number", leg or 150, unit="mm"),
        Ask("toe_mm", "From the meeting to the toe", "number", toe or 100, unit="mm"),
    )
    yield Offer(label, step, asks)


@offering("points", 41)
def offer_leg_curve(spot: Spot) -> Iterator[Offer]:
    """Offer the curve of a leg."""
    points = spot.layout.points[spot.key]
    legs = choice("leg", "Leg", *((leg, leg) for leg in points.lies))
    hands = choice(
        "hand", "Curves to the", ("left", "left"), ("right", "right"), ("straight", "neither hand")
    )
    radius = Ask("radius_mm", "Radius", "number", 900, unit="mm")
    long = Ask(
        "leg_mm", "Length of the legs from where they part", "number",
        points.leg_mm or 200, unit="mm",
    )  # fmt: skip
    step: dict[str, object] = {"do": "set-leg-curve", "points": spot.key}
    yield Offer("Give the curve of a leg", step, (legs, hands, radius, long))
