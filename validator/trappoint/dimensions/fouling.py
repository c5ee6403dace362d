"""The fouling place of two straight legs: where stock on them would touch.

The legs part at angle a, where their centre lines meet. ``1 in N`` has two measures: one across in
N along the line that halves the angle (NMRA RP-12), or one at a right angle in N along one side
(British: common practice, no source). Measured square to the line that halves the angle, the centre
lines are D apart at D / (2 tan(a/2)) along that line and D / (2 sin(a/2)) along either leg.

D is the spacing of tracks at which stock just passes. ``curves`` has legs that curve, ``parting``
the fouling places of a plan.
"""

from __future__ import annotations

from math import atan, degrees, radians, sin
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.model.layout import Crossing, Points


def angle_of(crossing_number: float, measure: str) -> float:
    """Return the angle of 1 in ``crossing_number`` in degrees; ``measure`` is the plan's."""
    if measure == "right-angle":
        return degrees(atan(1 / crossing_number))
    return degrees(2 * atan(1 / (2 * crossing_number)))


def along_the_leg(angle_degrees: float, apart_mm: float) -> float:
    """Return the length along either leg where two centre lines are ``apart_mm`` apart, in mm."""
    return apart_mm / (2 * sin(radians(angle_degrees) / 2))


MIN_ANGLE = 0.01
"""Least angle between two legs, in degrees (1 in 5,730); a smaller one counts as not given."""


def element_angle(element: Points | Crossing) -> float | None:
    """Return the angle between neighbouring legs in degrees; None if it is missing."""
    angle = element.angle_degrees
    if angle is None and element.crossing_number is not None:
        angle = angle_of(element.crossing_number, element.measure)
    return None if angle is None or angle < MIN_ANGLE else angle
