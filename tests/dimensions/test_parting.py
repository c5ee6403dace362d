"""The fouling places of a plan: curves, crossovers, posts between tracks, missing measures."""

from __future__ import annotations

import json
from math import asin, degrees, inf, isinf, radians, sin
from typing import Any

import pytest

import trappoint
from rules.plans import example_text, patched
from trappoint.checking.check import check_content
from trappoint.dimensions.clearances import Bounds
from trappoint.dimensions.curves import along_curves
from trappoint.dimensions.fouling import along_the_leg, angle_of
from trappoint.dimensions.parting import Beyond, Partings, fouling_places
from trappoint.dimensions.rooms import Room, derive_rooms
from trappoint.facts.facts import Facts
from trappoint.model.layout import Layout

ANGLE = angle_of(8, "centre-line")
STRAIGHT = along_the_leg(ANGLE, 46)


def plan(patch: dict[str, Any]) -> dict[str, Any]:
    written = patched(json.loads(example_text({"spacing_mm": 46})), patch)
    assert isinstance(written, dict)
    return written


def load(patch: dict[str, Any]) -> Layout:
    return trappoint.load(json.dumps(plan(patch)))


def main(patch: dict[str, Any]) -> Beyond:
    layout = load(patch)
    return Partings(layout, 46).beyond(layout.tracks["main"].up)


def room(patch: dict[str, Any]) -> Room:
    return next(one for one in derive_rooms(Facts(load(patch))) if one.place == "main")


def foul(patch: dict[str, Any]) -> list[str]:
    findings = check_content(json.dumps(plan(patch)), "plan").findings
    return [f.message for f in findings if f.rule == "signal-foul-of-points"]


def test_a_track_that_gives_a_radius_has_two_bounds() -> None:
    patch = {"tracks": {"main": {"radius_mm": 2000}}, "points": {"p1": {"leg_mm": 300}}}
    along = along_curves(ANGLE, 300, (None, 2000), 46)
    assert 300 < along.least < STRAIGHT < along.most < inf
    assert main(patch) == (along.least - 300, along.most - 300, True)
    assert room(patch).at_most_mm == pytest.approx(1450 - along.least + 300)
    assert room(patch).surely_mm == pytest.approx(1450 - along.most + 300)


def test_a_curve_that_may_run_parallel_first_is_never_surely_clear() -> None:
    patch = {"tracks": {"main": {"radius_mm": 500}}, "points": {"p1": {"leg_mm": 100}}}
    least = along_curves(ANGLE, 100, (None, 500), 46).least
    assert main(patch) == (least - 100, inf, True)
    assert room(patch).surely_mm is None
    assert foul(patch)[0].endswith(f"the fouling place at least {least - 100:,.0f} mm.")


def test_no_farther_than_the_track_that_gives_the_radius() -> None:
    short = {
        "tracks": {
            "main": {"up": "joint:m", "down": "p2.left"},
            "curve": {"up": "p1.right", "down": "joint:m", "length_mm": 20, "radius_mm": 900},
        },
        "points": {"p1": {"leg_mm": 300}},
    }
    layout = load(short)
    assert Partings(layout, 46).beyond(layout.tracks["curve"].up) == (20, inf, True)


def test_without_a_leg_it_is_known_how_far_at_most() -> None:
    patch: dict[str, Any] = {"signals": {"3": None}}
    assert main(patch) == (0, STRAIGHT, False)
    found = room(patch)
    assert (found.at_most_mm, found.surely_mm) == (1450, pytest.approx(1450 - STRAIGHT))
    assert foul(patch) == []
    # A signal is taken to stand where a train is clear, as long as nothing is measured.
    assert room({}).surely_mm == 1450


def test_without_a_number_nothing_is_known() -> None:
    assert main({"points": {"p1": {"crossing_number": None, "leg_mm": 100}}}) == (0, inf, False)
    layout = load({})
    assert Partings(layout, None).beyond(layout.tracks["main"].up) == (0, inf, False)


@pytest.mark.parametrize(
    ("side", "spacing", "told"),
    [
        # Signal 3 looks at trains running up, towards p1: there the loop, on the left leg, is on
        # the right-hand side of a driver.
        ("right", 46, (0, 40, False)),
        ("right", 45.9, (40, inf, True)),
        ("left", 46, (0, STRAIGHT, False)),
        ("left", 45.9, (0, STRAIGHT, False)),
    ],
)
def test_a_post_between_the_tracks_tells_their_spacing(
    side: str, spacing: float, told: tuple[float, float, bool]
) -> None:
    post = {"at_mm": 40, "side": side, "spacing_mm": spacing}
    expected = (40, STRAIGHT, True) if isinf(told[1]) else told
    assert main({"signals": {"3": post}}) == expected
    away = {"track": "main", "for": "down", "arms": [{"id": "9"}], "at_mm": 40}
    other = {**away, "side": "left" if side == "right" else "right", "spacing_mm": spacing}
    assert main({"signals": {"9": other}}) == expected


def crossover(apart: float, angle: float = 10.0, hand: str = "left") -> Layout:
    """Two parallel lines with a crossover; how long it is follows from how far apart they are."""
    long = apart / sin(radians(angle))
    toward = "right" if hand == "left" else "left"
    points = {"normal": toward, "angle_degrees": angle, "leg_mm": 60}
    written = {
        "format": "trappoint-layout/1",
        "title": "Changeling Cross",
        "tracks": {
            "a-west": {"up": "edge:a", "down": "p1.toe"},
            "a-east": {"up": f"p1.{toward}", "down": "edge:b"},
            "link": {"up": f"p1.{hand}", "down": f"p2.{hand}", "length_mm": long - 120},
            "b-west": {"up": "edge:c", "down": f"p2.{toward}"},
            "b-east": {"up": "p2.toe", "down": "edge:d"},
        },
        "points": {"p1": points, "p2": points},
    }
    return trappoint.load(json.dumps(written))


@pytest.mark.parametrize("hand", ["left", "right"])
def test_a_crossover_between_lines_that_are_too_near_is_never_clear(hand: str) -> None:
    for place in fouling_places(crossover(44, hand=hand), 46):
        assert place.along.most == inf
        # From meeting to meeting: 44 mm across at 10 degrees.
        assert degrees(asin(44 / place.along.least)) <= 10 + 1e-9


def test_a_crossover_between_lines_that_are_far_enough_apart_is_clear_within_it() -> None:
    for apart in (46.01, 50):
        layout = crossover(apart)
        long = apart / sin(radians(10))
        for place in fouling_places(layout, 46):
            assert place.along == Bounds(along_the_leg(10, 46), along_the_leg(10, 46))
            assert place.along.most < long


def test_what_does_not_make_lines_parallel_says_nothing() -> None:
    layout = crossover(44)
    bent = layout.points["p2"]._replace(angle_degrees=12)
    other = layout._replace(points={**layout.points, "p2": bent})
    assert fouling_places(other, 46)[0].along.most == along_the_leg(10, 46)
