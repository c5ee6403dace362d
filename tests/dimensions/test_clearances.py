"""Clearances against published sheets."""

from __future__ import annotations

import pytest

from dimensions.test_scales import plan
from trappoint.dimensions.clearances import (
    NEM_103,
    Bounds,
    Clearance,
    coach_group,
    passing_spacing,
    post_need,
    spacing_on_curve,
    widening,
)
from trappoint.dimensions.scales import Scale, scale_of


def scale(name: str, standard: str = "NEM") -> Scale:
    found = scale_of(plan(scale=name, standard=standard))
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("size", "width"),
    # NEM 102 (2017), BL1: full width between fixed objects, straight track, mm.
    [("Z", 20), ("N", 27), ("TT", 36), ("H0", 48), ("S", 66), ("0", 94), ("I", 130), ("II", 184)],
)
def test_half_the_structure_gauge_is_free_beside_straight_track(size: str, width: float) -> None:
    assert post_need(scale(size), None, None) == Clearance(width / 2, "NEM 102", None)


@pytest.mark.parametrize(
    ("radius", "a", "b", "c"),
    # NEM 103 (2016), H0, widening on each side in mm by coach group.
    [(350, 8, None, None), (400, 7, 11, None), (450, 6, 9, 12), (500, 5, 8, 11), (550, 4, 7, 10),
     (600, 4, 6, 9), (700, 3, 5, 7), (800, 3, 4, 6), (900, 2, 3, 5), (1000, 2, 3, 4),
     (1200, 1, 2, 3), (1400, 1, 2, 2), (1600, 0, 1, 2), (2000, 0, 1, 1)],
)  # fmt: skip
def test_widening_in_h0(radius: float, a: float, b: float | None, c: float | None) -> None:
    for group, wanted in enumerate((a, b, c)):
        found = widening("H0", radius, group)
        assert found == (None if wanted is None else Bounds(wanted, wanted))


def test_between_two_radii_the_widening_lies_between_theirs() -> None:
    assert widening("H0", 475, 2) == Bounds(11, 12)
    assert widening("H0", 5000, 0) == Bounds(0, 0)
    assert widening("H0", 300, 0) is None  # tighter than any that is printed
    assert widening("H0", 420, 2) is None
    assert widening("Z", 500, 0) is None


def test_widening_never_grows_with_the_radius_nor_shrinks_with_the_coach() -> None:
    for rows in NEM_103.values():
        for group in range(3):
            values = [row[group] for row in rows.values() if row[group] is not None]
            assert values == sorted(values, reverse=True)  # type: ignore[type-var]
        for row in rows.values():
            known = [value for value in row if value is not None]
            assert known == sorted(known)


@pytest.mark.parametrize(
    ("size", "longest", "group"),
    # NEM 103: body lengths up to which a coach is of group A, B, C.
    [("H0", 230, 0), ("H0", 231, 1), ("H0", 278, 1), ("H0", 313, 2), ("H0", 314, None),
     ("N", 125, 0), ("N", 170, 2), ("0", 556, 1)],
)  # fmt: skip
def test_groups_of_coaches(size: str, longest: float, group: int | None) -> None:
    assert coach_group(size, longest) == group


def test_a_post_on_a_curve_needs_more() -> None:
    # NEM 102: 24 mm; NEM 103, group B at 500 mm: 8 mm more.
    assert post_need(scale("H0"), 500, 265) == Clearance(24, "NEM 102", Bounds(32, 32))


def test_british_posts_stand_clear_of_the_rails() -> None:
    # G. Findlay, The Working and Management of an English Railway, p. 84: 4 ft 6 in from the rails,
    # 18 mm at 4 mm to the foot; half the gauge more from the centre of the track.
    need = post_need(scale("OO", "British"), None, None)
    assert need is not None
    assert need.straight_mm == pytest.approx(18 + 16.5 / 2)
    assert need.unconfirmed == ()
    # The gauge of British O is a value from memory, unconfirmed.
    seven = post_need(scale("O", "British"), None, None)
    assert seven is not None
    assert seven.unconfirmed == ("gauge",)


def test_no_clearance_without_a_published_value() -> None:
    assert post_need(scale("HO", "NMRA"), None, None) is None
    assert post_need(scale("X"), None, None) is None


@pytest.mark.parametrize(
    ("name", "standard", "apart"),
    [
        ("H0", "NEM", 46),  # NEM 112, open line
        ("TT", "NEM", 34),  # NEM 112, least
        ("0", "NEM", 89),  # derived: 4.0 m / 45
        ("S", "NEM", 62.5),  # derived: 4.0 m / 64
        ("O", "NMRA", 95.3),  # NMRA S-8
        ("S", "NMRA", 71.4),  # NMRA S-8
        ("HO", "NMRA", 52.4),  # NMRA S-8
        ("N", "NMRA", 28.6),  # derived: 15 ft in scale
        ("OO", "British", 44.69),  # 3,405 mm / 76.2
        ("N", "British", 23.0),  # 3,405 mm / 148
    ],
)
def test_spacing_at_which_stock_passes(name: str, standard: str, apart: float) -> None:
    found = passing_spacing(plan(), scale(name, standard))
    assert found is not None
    assert found[0] == pytest.approx(apart, abs=0.01)


def test_what_the_plan_says_goes_first() -> None:
    assert passing_spacing(plan(spacing_mm=67), scale("H0")) == (67, "spacing_mm of the plan")
    assert passing_spacing(plan(), None) is None
    assert passing_spacing(plan(), scale("X")) is None


@pytest.mark.parametrize(
    ("radius", "apart"),
    # NEM 112, H0, longest coaches.
    [(400, 64), (450, 61), (500, 59), (600, 55), (700, 52), (800, 50), (900, 48), (1000, 47),
     (1100, 46), (3000, 46)],
)  # fmt: skip
def test_spacing_on_curves_in_h0(radius: float, apart: float) -> None:
    assert spacing_on_curve(scale("H0"), radius) == Bounds(apart, apart)
    assert spacing_on_curve(scale("H0"), 399) is None
    assert spacing_on_curve(scale("N"), radius) is None
