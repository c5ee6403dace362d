"""Published lengths of points, against the sheet's own figures and the formula for the nose."""

from __future__ import annotations

from math import radians, tan

import pytest

from trappoint.dimensions.fouling import angle_of
from trappoint.dimensions.turnouts import nose_mm, published_lengths

# NMRA RP-12, the sheet for N: number, lead, nose to meeting, crossing beyond its nose, in mm.
SHEET = [(4, 67.5, 36, 13), (5, 75.5, 45, 15), (6, 83, 54, 16.5), (7, 115, 63, 17.5)]


@pytest.mark.parametrize(("number", "lead", "nose", "beyond"), SHEET)
def test_lengths_are_those_of_the_sheet(
    number: float, lead: float, nose: float, beyond: float
) -> None:
    assert nose_mm(number, 9) == nose
    found = published_lengths(number, 9)
    assert found == (nose + beyond, lead - nose)


def test_the_nose_is_where_the_gauge_lines_cross() -> None:
    """Two rails, each half a gauge from its centre line, cross at G / (2 tan(a/2))."""
    for number in (4, 6.5, 8, 12):
        angle = radians(angle_of(number, "centre-line"))
        assert nose_mm(number, 16.5) == pytest.approx(16.5 / (2 * tan(angle / 2)))


def test_no_sheet_is_stretched() -> None:
    for number, gauge in ((8, 9), (4.5, 9), (None, 9), (6, 16.5), (6, None)):
        assert published_lengths(number, gauge) is None
