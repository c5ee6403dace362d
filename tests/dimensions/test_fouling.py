"""Fouling places against published values, and against the lines themselves."""

from __future__ import annotations

from math import atan2, cos, degrees, hypot, radians, sin, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

import trappoint
from rules.plans import example_text
from trappoint.dimensions.fouling import along_the_leg, angle_of
from trappoint.dimensions.parting import fouling_places


def along_the_middle(angle_degrees: float, apart_mm: float) -> float:
    """The same measured along the line that halves the angle, as tables have it.

    With the gauge for the distance it is that from where the centre lines meet to the theoretical
    nose of the crossing.
    """
    return along_the_leg(angle_degrees, apart_mm) * cos(radians(angle_degrees) / 2)


def along_by_number(crossing_number: float, measure: str, apart_mm: float) -> float:
    """The same straight from 1 in N, without any angle.

    N x D by the centre line; D x (N + sqrt(N x N + 1)) / 2 by the right angle.
    """
    if measure == "right-angle":
        return apart_mm * (crossing_number + sqrt(crossing_number**2 + 1)) / 2
    return apart_mm * crossing_number


@pytest.mark.parametrize(
    ("number", "centre_line", "right_angle"),
    # Calculated; NMRA RP-12 prints 14d15', 11d25', 9d32' and 8d10' for the centre lines of 4 to 7.
    [(4, 14.250, 14.036), (5, 11.421, 11.310), (6, 9.527, 9.462), (7, 8.171, 8.130),
     (8, 7.153, 7.125), (9, 6.360, 6.340), (10, 5.725, 5.711), (12, 4.772, 4.764),
     (20, 2.864, 2.862)],
)  # fmt: skip
def test_angles_by_both_measures(number: float, centre_line: float, right_angle: float) -> None:
    assert round(angle_of(number, "centre-line"), 3) == centre_line
    assert round(angle_of(number, "right-angle"), 3) == right_angle


@pytest.mark.parametrize(("number", "nose"), [(4, 36), (5, 45), (6, 54), (7, 63)])
def test_nose_to_intersection_in_n(number: float, nose: float) -> None:
    # NMRA RP-12, "frog point to intersection of centre lines", for a gauge of 9 mm.
    assert along_the_middle(angle_of(number, "centre-line"), 9) == pytest.approx(nose, abs=1e-9)


@pytest.mark.parametrize(
    ("number", "apart", "along"),
    # Calculated as N x D. 46 mm: NEM 112, H0; 44.67 mm: 11 ft 2 in at 4 mm to the foot; 40.2 mm:
    # the German fouling mark, 3.50 m between centres, at 1:87 (common practice, no source).
    [(6, 46, 276), (8, 44.67, 357), (6, 3500 / 87, 241)],
)
def test_spacing_to_intersection(number: float, apart: float, along: int) -> None:
    assert round(along_the_middle(angle_of(number, "centre-line"), apart)) == along


def on_leg(angle: float, along: float) -> tuple[float, float]:
    """Where one is on a leg that leaves the other at this angle; the other is the x-axis."""
    return along * cos(radians(angle)), along * sin(radians(angle))


@given(st.floats(1, 60), st.floats(1, 200))
def test_the_two_lines_are_so_far_apart_there(number: float, apart: float) -> None:
    for measure in ("centre-line", "right-angle"):
        angle = angle_of(number, measure)
        along = along_the_leg(angle, apart)
        x, y = on_leg(angle, along)
        # The same distance along the other leg: the line between both is square to the middle.
        assert hypot(x - along, y) == pytest.approx(apart, rel=1e-9)
        middle = hypot((x + along) / 2, y / 2)
        assert middle == pytest.approx(along_by_number(number, measure, apart), rel=1e-9)


@given(st.floats(1, 60))
def test_one_in_n_is_what_it_says(number: float) -> None:
    # By coordinates: one across in N along the middle; one across in N along one side.
    assert angle_of(number, "centre-line") == pytest.approx(2 * degrees(atan2(0.5, number)))
    assert angle_of(number, "right-angle") == pytest.approx(degrees(atan2(1, number)))


def test_each_pair_of_neighbouring_legs_has_its_place() -> None:
    plan = trappoint.load(
        example_text({"points": {"p1": {"leg_mm": 100}, "p2": {"angle_degrees": 9, "leg_mm": 999}}})
    )
    p1, p2 = fouling_places(plan, 44.67)
    assert (p1.element, p1.legs, p2.element, p2.legs) == (
        *("p1", ("left", "right")),
        *("p2", ("left", "right")),
    )
    # Kelpie Quay's p1 is 1 in 8: 357.36 mm along the middle, a little more along the leg.
    assert p1.along == pytest.approx((hypot(357.36, 44.67 / 2),) * 2)
    assert p1.beyond == pytest.approx((p1.along.most - 100,) * 2)
    assert p2.beyond == (0, 0)


THREE_WAY = {
    "tracks": {
        "siding": {"up": "p3.left"},
        "shed": {"up": "p3.middle", "down": "buffer"},
    },
    "points": {"p3": {"kind": "three-way", "angle_degrees": 10}, "p1": {"crossing_number": None}},
    "signals": {
        "4": {"arms": [{"id": "4"}]},
        "8": {"track": "shed", "for": "up", "arms": [{"id": "8"}]},
    },
}


def test_three_way_points_have_two_pairs_of_neighbours() -> None:
    found = fouling_places(trappoint.load(example_text(THREE_WAY)), 40)
    assert [place.legs for place in found] == [("left", "middle"), ("middle", "right")]
    # The outer legs part at twice the angle: they are clear of one another before their neighbours.
    along = found[0].along.most
    assert along_the_leg(20, 40) < along
    # Where the leg ends is not given: somewhere beyond where the centre lines meet.
    assert [place.beyond for place in found] == [(0, along), (0, along)]
