"""Rooms for trains and distances of distants, added up by hand."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

import trappoint
from dimensions.test_scales import plan as bare
from rules.plans import example_text
from trappoint.dimensions.distances import distant_distances, in_yards, scaled_yards
from trappoint.dimensions.rooms import Room, derive_rooms, fits, fits_platform
from trappoint.facts.facts import Facts
from trappoint.model.layout import Train


def facts(patch: dict[str, Any]) -> Facts:
    return Facts(trappoint.load(example_text(patch)))


def rooms(patch: dict[str, Any]) -> dict[str, Room]:
    return {room.place: room for room in derive_rooms(facts(patch))}


def test_between_two_signals_at_the_ends_of_a_track() -> None:
    main = rooms({})["main"]
    assert (main.at_most_mm, main.known) == (1450, True)
    assert main.bounds == ("signal 3", "signal 2")


def test_from_a_buffer_to_a_signal_and_off_the_plan() -> None:
    found = rooms({})
    assert found["siding"].at_most_mm == 610
    assert found["siding"].bounds == ("signal 6", "buffer")
    assert (found["town-line"].at_most_mm, found["town-line"].known) == (None, False)


def test_the_fouling_place_bounds_it_where_it_is_known() -> None:
    # 1 in 6 at 46 mm: 276 mm along the middle, 276.96 mm along the leg; 100 mm of that are leg.
    found = rooms({"spacing_mm": 46, "points": {"p1": {"crossing_number": 6, "leg_mm": 100}}})
    along = (276**2 + 23**2) ** 0.5
    assert found["main"].at_most_mm == pytest.approx(1450 - (along - 100))
    assert found["main"].bounds == ("fouling place at p1.right", "signal 2")


def test_without_signal_or_measure_a_leg_says_only_what_it_has_at_most() -> None:
    # Without signal 2 nothing at main's down end says where a train is clear of p2.
    found = rooms({"signals": {"2": None}})
    assert (found["main"].at_most_mm, found["main"].known) == (1450, False)


def test_a_signal_along_the_track_parts_it() -> None:
    found = rooms({"signals": {"2": {"at_mm": 1200}}})
    assert (found["main.1"].at_most_mm, found["main.1"].known) == (1200, True)
    # The rest behind it is a stub: a stand only if a listed train fits there.
    assert "main.2" not in found
    found = rooms({"signals": {"2": {"at_mm": 1200}}, "trains": {"t": {"length_mm": 250}}})
    assert (found["main.2"].at_most_mm, found["main.2"].known) == (250, False)
    assert found["main.2"].bounds == ("signal 2", "p2.left (fouling place not known)")


SPLIT = {
    "tracks": {
        "throat": {"up": "p1.right", "down": "joint:m", "length_mm": 250, "stand": False},
        "main": {"up": "joint:m", "down": "joint:n", "length_mm": 900},
        "more": {"up": "joint:n", "down": "p2.left", "length_mm": 300},
    },
    "signals": {"2": {"track": "more"}},
}


def test_tracks_that_a_bare_joint_joins_are_one_room() -> None:
    found = rooms(SPLIT)
    assert "throat" not in found
    assert "more" not in found
    assert (found["main"].at_most_mm, found["main"].known) == (1200, True)
    assert found["main"].bounds == ("signal 3", "signal 2")


def test_a_joint_that_parts_sections_bounds_a_room() -> None:
    one_way = {**SPLIT["tracks"]["more"], "running": "down"}
    found = rooms({**SPLIT, "tracks": {**SPLIT["tracks"], "more": one_way}})
    # From how far beyond the joint a train would foul points is not known.
    assert (found["main"].at_most_mm, found["main"].known) == (900, False)
    assert found["main"].bounds == ("signal 3", "p2.left (fouling place not known)")
    assert (found["more"].at_most_mm, found["more"].known) == (300, False)
    # 1 in 8 at 46 mm: less than 369 mm from the leg of p1, and the joint is 1,150 mm from it.
    tracks = {**SPLIT["tracks"], "more": one_way}
    more = rooms({**SPLIT, "tracks": tracks, "spacing_mm": 46})["more"]
    assert (more.at_most_mm, more.known, more.bounds) == (300, True, ("joint:n", "signal 2"))


def test_a_ring_is_as_long_as_all_round() -> None:
    ring = {
        "ring": {"up": "joint:a", "down": "joint:b", "length_mm": 700, "stand": True},
        "ring-2": {"up": "joint:a", "down": "joint:b", "length_mm": 800},
    }
    found = rooms({"tracks": ring})["ring"]
    assert (found.at_most_mm, found.known, found.bounds) == (1500, True, ("joint:a", "joint:a"))


def test_a_track_of_no_length_leaves_it_open() -> None:
    open_ = {**SPLIT, "tracks": {**SPLIT["tracks"], "more": {"up": "joint:n", "down": "p2.left"}}}
    assert rooms(open_)["main"].at_most_mm is None


def test_trains_fit_or_not_or_it_is_not_known() -> None:
    short, long = Train("s", 400, None, "", 100), Train("l", 500, None, "", 100)
    surely = Room("a", "a", True, 450, 450, ("", ""))
    at_most = surely._replace(surely_mm=None)
    assert [fits(t, r) for r in (surely, at_most) for t in (short, long)] == [
        *(True, False),
        *(None, False),
    ]
    assert fits(short, surely._replace(at_most_mm=None, surely_mm=None)) is None
    assert fits(Train("u", None, None, ""), surely) is None


def test_platforms_take_whole_trains_or_coaches_alone() -> None:
    train = Train("t", 760, 245, "", 180)
    assert [fits_platform(train, length) for length in (760, 580, 579, None)] == [
        *("whole", "coaches", "no"),
        None,
    ]
    assert fits_platform(train._replace(engine_mm=None), 700) is None


def distant(track: str = "town-line", at_mm: float = 600) -> dict[str, Any]:
    post = {"track": track, "for": "down", "at_mm": at_mm}
    return {"8": {**post, "arms": [{"id": "8", "kind": "distant", "repeats": ["1L", "1R"]}]}}


def test_distances_on_one_track_and_over_joints() -> None:
    one = {"tracks": {"town-line": {"length_mm": 4000}}, "signals": distant()}
    assert [(d.arm, d.to, d.model_mm) for d in distant_distances(facts(one))] == [("8", "1", 3400)]
    two = {
        "tracks": {
            "far": {"up": "edge:town", "down": "joint:t", "length_mm": 2000},
            "town-line": {"up": "joint:t", "length_mm": 1500},
        },
        "signals": distant("far"),
    }
    assert [d.model_mm for d in distant_distances(facts(two))] == [1400 + 1500]
    unknown = {"signals": distant()}
    assert distant_distances(facts(unknown)) == []


def test_scaled_practice() -> None:
    # At 4 mm to the foot 440 yards are 5.28 m, and 1,000 yards 12 m.
    assert scaled_yards(440, Fraction(762, 10)) == 5280
    assert scaled_yards(1000, Fraction(762, 10)) == 12000
    assert round(5280 / 304.8, 1) == 17.3
    assert in_yards(5280, Fraction(762, 10)) == pytest.approx(440)
    assert derive_rooms(Facts(bare()))[0].at_most_mm is None
