"""Published lengths of points by their crossing number.

Source: NMRA RP-12, the sheet whose values are those of 9 mm track: the lead from the point of the
switch to the theoretical nose of the crossing, and the length of the crossing beyond its nose. The
nose is the gauge times the number beyond the place where the centre lines meet, which the sheet
prints too. The sheets of other gauges are not used.
"""

from __future__ import annotations

from typing import NamedTuple

RP_12_GAUGE_MM = 9.0
"""The gauge of the sheet in mm, which follows from its distances between nose and meeting."""

RP_12: dict[float, tuple[float, float]] = {
    4: (67.5, 13), 5: (75.5, 15), 6: (83, 16.5), 7: (115, 17.5),
}  # fmt: skip
"""The lead and the crossing beyond its nose, in mm by crossing number."""

SOURCE = "NMRA RP-12"


class PointsLengths(NamedTuple):
    """The lengths of points from the place where the centre lines of their legs meet, in mm."""

    leg_mm: float
    """To the end of the crossing."""
    toe_mm: float
    """To the point of the switch."""


def nose_mm(crossing_number: float, gauge_mm: float) -> float:
    """Return the distance from the meeting of the centre lines to the theoretical nose, in mm."""
    return crossing_number * gauge_mm


def published_lengths(
    crossing_number: float | None, gauge_mm: float | None
) -> PointsLengths | None:
    """Return the published lengths of points; None if no sheet has this gauge and number."""
    found = RP_12.get(crossing_number or 0)
    if found is None or crossing_number is None or gauge_mm != RP_12_GAUGE_MM:
        return None
    lead, beyond = found
    nose = nose_mm(crossing_number, gauge_mm)
    return PointsLengths(nose + beyond, lead - nose)
