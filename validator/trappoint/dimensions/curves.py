"""Where two centre lines that curve reach a distance, walked along both: by exact geometry.

They meet at an angle, run straight over their legs, and then curve: arcs of circles. A track tells
its tightest curve, and not to which side, nor where it begins. Whatever it does, two tracks reach
the distance no sooner than where both curve apart as tightly as they may from the end of the leg
on, and no later than where both so curve towards one another, if they do before they are parallel.
(The way of a track in any one direction is longest, and shortest, where it turns towards it, and
away from it, as tightly as it may.)
"""

from __future__ import annotations

from math import cos, hypot, inf, isfinite, pi, radians, sin

from trappoint.dimensions.clearances import Bounds

MIN_RADIUS_MM = 1.0
"""Tighter curves are taken for this one."""

FARTHEST_MM = 1e7
"""Farther on no place is looked for."""

_STEPS = 120


def apart_after(
    walked: float, leg_mm: float, angle_degrees: float, bends: tuple[float, float]
) -> float:
    """Return how far apart two centre lines are after so much of each, in mm.

    ``bends`` are 1 / radius of either, in 1/mm: more than 0 away from the other, less towards it.
    """
    half = radians(angle_degrees) / 2
    (x, y), (u, v) = (_spot(walked, leg_mm, half, bend) for bend in bends)
    return hypot(x - u, y + v)


def _spot(walked: float, leg_mm: float, heading: float, bend: float) -> tuple[float, float]:
    """Return where one is: along the line that halves the angle, and away from it."""
    straight = min(walked, leg_mm)
    arc = walked - straight
    turned = arc * bend / 2
    chord = arc * (sin(turned) / turned if abs(turned) > 1e-9 else 1.0)
    return (
        straight * cos(heading) + chord * cos(heading + turned),
        straight * sin(heading) + chord * sin(heading + turned),
    )


def along_curves(
    angle_degrees: float,
    leg_mm: float,
    radii_mm: tuple[float | None, float | None],
    apart_mm: float,
) -> Bounds:
    """Return between what lengths along the legs two tracks reach a distance, from their meeting.

    ``radii_mm``: the tightest curve of either; None for a straight one. The larger bound is
    infinite where they may run parallel first.
    """
    tight = [0.0 if r is None else 1 / max(r, MIN_RADIUS_MM) for r in radii_mm]
    angle = radians(angle_degrees)
    away = leg_mm + (pi / 2 - angle / 2) / max(*tight) if any(tight) else FARTHEST_MM
    towards = leg_mm + angle / sum(tight) if any(tight) else FARTHEST_MM
    least = _first(angle_degrees, leg_mm, (tight[0], tight[1]), apart_mm, away)
    most = _first(angle_degrees, leg_mm, (-tight[0], -tight[1]), apart_mm, towards)
    return Bounds(min(least, away, FARTHEST_MM), most)


def _first(
    angle_degrees: float,
    leg_mm: float,
    bends: tuple[float, float],
    apart_mm: float,
    until: float,
) -> float:
    """Return where the distance is reached; infinite if not before ``until``. It only grows."""
    on_legs = apart_mm / (2 * sin(radians(angle_degrees) / 2))
    if on_legs <= leg_mm or not isfinite(on_legs):
        return on_legs
    low, high = min(leg_mm, FARTHEST_MM), min(until, FARTHEST_MM)
    if apart_after(high, leg_mm, angle_degrees, bends) < apart_mm:
        return inf
    for _ in range(_STEPS):
        middle = (low + high) / 2
        if apart_after(middle, leg_mm, angle_degrees, bends) < apart_mm:
            low = middle
        else:
            high = middle
    return high
