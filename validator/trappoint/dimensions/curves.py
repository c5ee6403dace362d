"""The place where two curved centre lines reach a given distance, by exact geometry.

The lines meet at an angle, run straight along their legs, and then curve. A track gives the radius
of its tightest curve, but neither its side nor its start. This gives two bounds. The lines reach
the distance soonest if both curve apart from the end of the leg, as tightly as they may. They reach
it latest if both curve towards each other so, unless they become parallel first. (A track of a
given length goes farthest in one direction if it turns towards it as tightly as it may, and least
far if it turns away.)
"""

from __future__ import annotations

from math import cos, hypot, inf, isfinite, pi, radians, sin

from trappoint.dimensions.clearances import Bounds

MIN_RADIUS_MM = 1.0
"""Least radius in mm; tighter curves count as this one."""

FARTHEST_MM = 1e7
"""Greatest distance of a place from the meeting, in mm."""

_STEPS = 120


def apart_after(
    walked: float, leg_mm: float, angle_degrees: float, bends: tuple[float, float]
) -> float:
    """Return the distance between two centre lines, ``walked`` mm along each of them, in mm.

    ``bends`` are the curvatures in 1/mm: positive away from the other line, negative towards it.
    """
    half = radians(angle_degrees) / 2
    (x, y), (u, v) = (_spot(walked, leg_mm, half, bend) for bend in bends)
    return hypot(x - u, y + v)


def _spot(walked: float, leg_mm: float, heading: float, bend: float) -> tuple[float, float]:
    """Return a point of a centre line: along the line that halves the angle, and away from it."""
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
    """Return the bounds of the length from the meeting at which two tracks are ``apart_mm`` apart.

    ``radii_mm`` are the tightest radii of the two tracks; None for a straight track. The larger
    bound is infinite if they may become parallel first.
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
    """Return the length at which the distance is reached; infinite if beyond ``until``."""
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
