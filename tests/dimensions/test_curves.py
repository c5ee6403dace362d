"""Legs that curve: against centre lines walked in small steps, and a closed form."""

from __future__ import annotations

from collections.abc import Callable
from math import acos, cos, hypot, inf, isinf, radians, sin
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trappoint.dimensions.clearances import Bounds
from trappoint.dimensions.curves import Bend, curvature, reach
from trappoint.dimensions.fouling import along_the_leg, angle_of

STEP = 0.05


def along_curves(
    angle: float, leg: float, radii: tuple[float | None, float | None], apart: float
) -> Bounds:
    """Two straight legs, and tracks that may curve to either hand."""
    bends = [0.0 if radius is None else curvature(radius) for radius in radii]
    one, other = ([Bend(leg), Bend(inf, -bend, bend)] for bend in bends)
    return reach(angle, (one, other), apart)


def walk(
    angle: float,
    apart: float,
    bends: tuple[Callable[[float], float], Callable[[float], float]],
    until: float,
    *,
    while_parting: bool = False,
) -> float:
    """Walk along both centre lines in steps of 0.05 mm until they are ``apart`` mm apart.

    ``bends`` are the curvatures at a place in 1/mm, positive away from the other line. By the
    definition of a curve, the heading turns by bend times step at each step.
    """
    headings = [radians(angle) / 2, -radians(angle) / 2]
    spots = [[0.0, 0.0], [0.0, 0.0]]
    walked = 0.0
    while hypot(spots[0][0] - spots[1][0], spots[0][1] - spots[1][1]) < apart:
        turned_in = while_parting and headings[0] < headings[1]
        if walked > until or turned_in:
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
        assert found == pytest.approx((along_the_leg(angle, apart),) * 2, rel=1e-9)
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


def known(line: list[tuple[float, float]]) -> Callable[[float], float]:
    """The curvature at a place of a line of pieces: lengths, and curvatures that are known."""

    def bend(at: float) -> float:
        for length, own in line:
            if at <= length:
                return own
            at -= length
        return line[-1][1]

    return bend


@pytest.mark.parametrize(
    ("angle", "one", "other", "apart"),
    [
        (0, [(250, 1 / 600), (inf, 0)], [(250, 0), (inf, 0)], 46),  # straight on, and to one hand
        (0, [(300, 1 / 600), (inf, 1 / 600)], [(300, -1 / 1100), (inf, -1 / 1100)], 46),
        (0, [(200, 1 / 900), (inf, 0)], [(200, 1 / 900), (inf, 0)], 44.67),  # apart alike
        (7.15, [(150, 0), (120, 1 / 700), (inf, 0)], [(150, 0), (inf, 0)], 60),
        (7.15, [(150, 0), (inf, 1 / 900)], [(150, 0), (inf, -1 / 900)], 46),  # side by side
        (9.5, [(100, 0), (90, -1 / 700), (300, 1 / 500)], [(100, 0), (inf, 0)], 52),
    ],
)
def test_curves_of_a_known_hand_have_one_place(
    angle: float, one: list[tuple[float, float]], other: list[tuple[float, float]], apart: float
) -> None:
    lines = tuple([Bend(length, own, own) for length, own in line] for line in (one, other))
    found = reach(angle, (lines[0], lines[1]), apart)
    walked = walk(angle, apart, (known(one), known(other)), 3000)
    assert found.least == found.most == pytest.approx(walked, abs=2 * STEP)


def test_curved_points_have_a_closed_form() -> None:
    """From the toe, one leg straight, one on a radius: its middle is R (1 - cos t) off the line.

    Both walked alike: the distance is hypot(s - R sin(s/R), R (1 - cos(s/R))).
    """
    radius, apart = 600.0, 46.0
    found = reach(0, ([Bend(inf, 1 / radius, 1 / radius)], [Bend(inf)]), apart)
    at, turn = found.least, found.least / radius
    assert hypot(at - radius * sin(turn), radius * (1 - cos(turn))) == pytest.approx(apart)


def test_lines_that_become_parallel_too_soon_never_reach_it() -> None:
    """They part until the outer line has turned as far as the angle: least, and no most."""
    parallel = 100 + radians(7) * 500
    found = reach(7, ([Bend(100), Bend(inf, -1 / 500, -1 / 500)], [Bend(inf)]), 60)
    assert found == (pytest.approx(parallel), inf)
    ended = reach(7, ([Bend(100), Bend(50, 1 / 500, 1 / 500)], [Bend(inf)]), 60)
    assert ended == (pytest.approx(150), inf)


@settings(max_examples=6, deadline=None)
@given(st.floats(4, 12), st.floats(0, 150), st.randoms(use_true_random=False))
def test_bounds_beside_a_track_of_a_known_hand(number: float, leg: float, rng: Random) -> None:
    """Against a track that turns at random, beside one of a known hand."""
    angle, apart = angle_of(number, "centre-line"), 46
    sure, tight = rng.choice((-1, 1)) / rng.uniform(800, 2000), 1 / rng.uniform(500, 1500)
    pieces = [rng.choice((-1, 0, 0.6, 1)) * tight for _ in range(60)]
    lines = [Bend(leg), Bend(inf, -tight, tight)], [Bend(leg), Bend(inf, sure, sure)]
    found = reach(angle, lines, apart)

    def turning(at: float) -> float:
        return 0.0 if at <= leg else pieces[min(59, int((at - leg) / 25))]

    # Beside a line on the same hand, the inner one gains on the outer one: that is no room.
    bends = turning, beyond(leg, sure)
    reached = walk(angle, apart, bends, leg + 1000, while_parting=True)
    assert found.least - 2 * STEP <= reached
    if not isinf(found.most):
        assert reached <= found.most + 2 * STEP
