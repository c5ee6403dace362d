"""The fouling places of a plan: curves, crossovers, posts between tracks, missing measures."""

from __future__ import annotations

import json
from math import asin, cos, degrees, hypot, inf, isinf, radians, sin
from typing import Any

import pytest

import trappoint
from dimensions.test_curves import along_curves
from rules.plans import example_text, patched
from trappoint.checking.check import check_content
from trappoint.dimensions.clearances import Bounds
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
    assert main(patch) == pytest.approx((along.least - 300, along.most - 300, True))
    assert room(patch).at_most_mm == pytest.approx(1450 - along.least + 300)
    assert room(patch).surely_mm == pytest.approx(1450 - along.most + 300)


def test_a_curve_that_may_run_parallel_first_is_never_surely_clear() -> None:
    patch = {"tracks": {"main": {"radius_mm": 500}}, "points": {"p1": {"leg_mm": 100}}}
    least = along_curves(ANGLE, 100, (None, 500), 46).least
    assert main(patch) == (pytest.approx(least - 100), inf, True)
    assert room(patch).surely_mm is None
    assert foul(patch)[0].endswith(f"the fouling place at least {least - 100:,.0f} mm.")


def curved_at_a_joint(**own: Any) -> Layout:
    """A short curve from the right leg of p1, and a straight track beyond its joint."""
    patch = {
        "tracks": {
            "main": {"up": "joint:m", "down": "p2.left"},
            "curve": {"up": "p1.right", "down": "joint:m", "radius_mm": 900, **own},
        },
        "points": {"p1": {"leg_mm": 300}},
    }
    return load(patch)


def test_the_line_goes_on_beyond_a_joint() -> None:
    layout = curved_at_a_joint(length_mm=20, curve="right")
    sharper = radians(ANGLE) + 20 / 900
    across = 320 * 2 * sin(radians(ANGLE) / 2) + 20 * (20 / 900) / 2
    found = Partings(layout, 46).beyond(layout.tracks["curve"].up)
    assert found.least == found.most and found.measured
    assert found.least == pytest.approx(20 + (46 - across) / (2 * sin(sharper / 2)), abs=0.2)
    other = curved_at_a_joint(length_mm=20, curve="left")
    farther = Partings(other, 46).beyond(other.tracks["curve"].up)
    either = curved_at_a_joint(length_mm=20)
    bounds = Partings(either, 46).beyond(either.tracks["curve"].up)
    assert bounds == pytest.approx((found.least, farther.most, True))


def test_the_hand_is_that_of_a_train_running_down() -> None:
    """Turned round, the same curve has the other hand, and the same fouling place."""
    down = load({"tracks": {"main": {"radius_mm": 2000, "curve": "right"}},
                 "points": {"p1": {"leg_mm": 300}}})  # fmt: skip
    kept = Partings(down, 46).beyond(down.tracks["main"].up)
    far = Partings(down, 46).beyond(down.tracks["main"].down)
    main_track = down.tracks["main"]
    turned = main_track._replace(up=main_track.down, down=main_track.up, curve="left")
    layout = down._replace(tracks={**down.tracks, "main": turned})
    again = Partings(layout, 46)
    assert again.beyond(turned.down) == kept != far == again.beyond(turned.up)


def test_curved_points_part_along_one_tangent() -> None:
    curves = {
        "left": {"hand": "left", "radius_mm": 600},
        "right": {"hand": "left", "radius_mm": 1500},
    }
    points = {"crossing_number": None, "curves": curves, "leg_mm": 260}
    layout = load({"points": {"p1": points}})
    (place,) = [one for one in fouling_places(layout, 46) if one.element == "p1"]
    ends = 260 / 600 - 260 / 1500
    assert place.curved and place.angle_degrees == pytest.approx(degrees(ends))
    # Two arcs from one tangent: the chord between their ends, by the formula of a circle.
    spots = [(r * sin(260 / r), r * (1 - cos(260 / r))) for r in (600, 1500)]
    apart = hypot(spots[0][0] - spots[1][0], spots[0][1] - spots[1][1])
    straight_on = (46 - apart) / (2 * sin(ends / 2))
    assert place.along.least == place.along.most == pytest.approx(260 + straight_on, rel=0.02)
    assert place.beyond.least == pytest.approx(place.along.least - 260)


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
