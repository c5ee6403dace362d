"""Legs that curve: against centre lines walked in small steps, and a closed form."""

from __future__ import annotations

from collections.abc import Callable
from math import acos, cos, hypot, inf, isinf, radians, sin
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trappoint.dimensions.curves import along_curves
from trappoint.dimensions.fouling import along_the_leg, angle_of

STEP = 0.05


def walk(
    angle: float,
    apart: float,
    bends: tuple[Callable[[float], float], Callable[[float], float]],
    until: float,
) -> float:
    """Walk along both centre lines in steps of 0.05 mm until they are ``apart`` mm apart.

    ``bends`` are the curvatures at a place in 1/mm, positive away from the other line. By the
    definition of a curve, the heading turns by bend times step at each step.
    """
    headings = [radians(angle) / 2, -radians(angle) / 2]
    spots = [[0.0, 0.0], [0.0, 0.0]]
    walked = 0.0
    while hypot(spots[0][0] - spots[1][0], spots[0][1] - spots[1][1]) < apart:
        if walked > until:
            return inf
        for side, sign in ((0, 1), (1, -1)):
            turn = sign * bends[side](walked + STEP / 2) * STEP
            middle = headings[side] + turn / 2
            spots[side][0] += STEP * cos(middle)
            spots[side][1] += STEP * sin(middle)
            headings[side] += turn
        walked += STEP
    return walked


def beyond(leg: float, bend: float) -> Callable[[float], float]:
    return lambda at: bend if at > leg else 0.0


@pytest.mark.parametrize(
    ("number", "leg", "radii", "apart"),
    [
        (8, 150, (900, None), 44.67),
        (8, 150, (None, 600), 44.67),
        (6, 100, (600, 450), 46),
        (6, 100, (1200, 1200), 46),
        (4, 60, (230, 230), 25),
        (9.25, 0, (1500, 2000), 46),
        (8, 350, (600, None), 44.67),
    ],
)
def test_against_centre_lines_walked_step_by_step(
    number: float, leg: float, radii: tuple[float | None, float | None], apart: float
) -> None:
    angle = angle_of(number, "centre-line")
    found = along_curves(angle, leg, radii, apart)
    one, other = (0.0 if radius is None else 1 / radius for radius in radii)
    apart_soonest = walk(angle, apart, (beyond(leg, one), beyond(leg, other)), 2000)
    assert found.least == pytest.approx(apart_soonest, abs=2 * STEP)
    parallel = leg + radians(angle) / (one + other)
    latest = walk(angle, apart, (beyond(leg, -one), beyond(leg, -other)), parallel)
    assert isinf(found.most) == isinf(latest)
    if not isinf(latest):
        assert found.most == pytest.approx(latest, abs=2 * STEP)
    straight = along_the_leg(angle, apart)
    assert found.least <= straight + 1e-6 <= found.most + 2e-6


def test_both_kinds_are_among_them() -> None:
    """Test that some tracks may become parallel first and others surely reach the distance."""
    angle = angle_of(6, "centre-line")
    assert isinf(along_curves(angle, 100, (600, 450), 46).most)
    assert not isinf(along_curves(angle, 250, (2000, None), 46).most)


@given(st.floats(3, 20), st.floats(0, 200), st.floats(300, 3000), st.floats(20, 60))
def test_alike_curves_have_a_closed_form(
    number: float, leg: float, radius: float, apart: float
) -> None:
    """Both curve apart alike: half the distance is l sin(a/2) + R (cos(a/2) - cos(a/2 + turn))."""
    angle = angle_of(number, "centre-line")
    half = radians(angle) / 2
    found = along_curves(angle, leg, (radius, radius), apart)
    if along_the_leg(angle, apart) <= leg:
        assert found.least == found.most == along_the_leg(angle, apart)
        return
    turned = acos(cos(half) + (leg * sin(half) - apart / 2) / radius) - half
    assert found.least == pytest.approx(leg + radius * turned, rel=1e-6)


@settings(max_examples=25, deadline=None)
@given(
    st.floats(4, 12),
    st.floats(0, 150),
    st.floats(400, 1500),
    st.floats(400, 1500),
    st.randoms(use_true_random=False),
)
def test_whatever_the_tracks_do_it_lies_between(
    number: float, leg: float, one: float, other: float, rng: Random
) -> None:
    """Tracks that turn to either side at random, within their tightest radius."""
    angle, apart = angle_of(number, "centre-line"), 46
    shares = (-1, -0.5, 0, 0.7, 1)
    pieces = [[rng.choice(shares) / radius for _ in range(60)] for radius in (one, other)]

    def bend(side: int) -> Callable[[float], float]:
        return lambda at: 0.0 if at <= leg else pieces[side][min(59, int((at - leg) / 25))]

    found = along_curves(angle, leg, (one, other), apart)
    reached = walk(angle, apart, (bend(0), bend(1)), leg + 1000)
    assert found.least - 2 * STEP <= reached
    if not isinf(found.most):
        assert reached <= found.most + 2 * STEP


def test_straight_tracks_are_as_before() -> None:
    assert along_curves(7, 0, (None, None), 46) == pytest.approx((along_the_leg(7, 46),) * 2)
