"""Where two legs come so near one another that stock on them would touch: the fouling place.

Two straight legs part at the place where their centre lines meet. ``1 in N`` has two measures:
along the centre line of the angle (one across in N along the line that halves it; NMRA RP-12), and
at a right angle to one side (British practice). The lines are D apart, measured square to the line
that halves the angle a, at D / (2 tan(a/2)) along that line and D / (2 sin(a/2)) along either leg.

D is the distance of two tracks' centres at which stock just passes. This is the plain case alone:
``curves`` has legs that curve, ``parting`` the fouling places of a plan.
"""

from __future__ import annotations

from math import atan, degrees, radians, sin
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.model.layout import Crossing, Points


def angle_of(crossing_number: float, measure: str) -> float:
    """Return the angle in degrees of 1 in ``crossing_number``, by either measure."""
    if measure == "right-angle":
        return degrees(atan(1 / crossing_number))
    return degrees(2 * atan(1 / (2 * crossing_number)))


def along_the_leg(angle_degrees: float, apart_mm: float) -> float:
    """Return how far from where they meet two centre lines are so far apart, in mm.

    Measured along either leg, as a signal's place is.
    """
    return apart_mm / (2 * sin(radians(angle_degrees) / 2))


MIN_ANGLE = 0.01
"""In degrees: legs that part more slowly than this (1 in 5,730) do not part on any model."""


def element_angle(element: Points | Crossing) -> float | None:
    """Return the angle at which neighbouring legs part, in degrees; None if it is not given."""
    angle = element.angle_degrees
    if angle is None and element.crossing_number is not None:
        angle = angle_of(element.crossing_number, element.measure)
    return None if angle is None or angle < MIN_ANGLE else angle
