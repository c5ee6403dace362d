"""Rooms on the tracks of a yard, added up by hand."""

from __future__ import annotations

import json
from typing import Any

import pytest

import trappoint
from rules.plans import example_text, patched
from trappoint.core.terminal import RenderOptions
from trappoint.dimensions.rooms import Room
from trappoint.dimensions.table import derive_dimensions
from trappoint.dimensions.yards import derive_yard_rooms
from trappoint.facts.facts import Facts
from trappoint.reporting.dimensions_text import render

GOODS: dict[str, Any] = {
    "tracks": {
        "siding": {"up": "p3.left", "down": "p4.toe", "length_mm": 400},
        "dock": {"up": "p4.left", "down": "joint:dock", "length_mm": 500},
        "dock-end": {"up": "joint:dock", "down": "buffer", "length_mm": 250},
        "coal": {"up": "p4.right", "down": "buffer", "length_mm": 620},
    },
    "points": {"p4": {"normal": "left"}},
    "yards": {"goods": {"tracks": ["siding", "dock", "dock-end", "coal"], "points": ["p4"]}},
    "trains": {"short": {"length_mm": 500}, "long": {"length_mm": 700}},
}


def yard(*patches: dict[str, Any]) -> dict[str, Room]:
    plan: Any = GOODS
    for patch in patches:
        plan = patched(plan, patch)
    rooms = derive_yard_rooms(Facts(trappoint.load(example_text(plan))))
    assert all(room.place == "goods" and room.stand for room in rooms)
    return {room.track: room for room in rooms}


def test_tracks_between_points_signals_and_buffers() -> None:
    found = yard()
    assert list(found) == ["siding", "dock", "dock-end", "coal"]
    assert (found["siding"].at_most_mm, found["siding"].known) == (400, True)
    assert found["siding"].bounds == ("signal 6", "p4.toe")
    # No leg is measured, so how far from p4 a wagon must stand is not known.
    assert (found["coal"].at_most_mm, found["coal"].known) == (620, False)


def test_joined_tracks_of_a_yard_are_one_length() -> None:
    found = yard()
    assert found["dock"].at_most_mm == found["dock-end"].at_most_mm == 500 + 250
    assert found["dock"].bounds[1] == found["dock-end"].bounds[1] == "buffer"


def test_a_track_ends_where_the_yard_does() -> None:
    found = yard({"yards": {"goods": {"tracks": ["siding", "dock", "coal"]}}})
    assert (found["dock"].at_most_mm, found["dock"].bounds[1]) == (500, "joint:dock")


def test_the_fouling_place_and_a_signal_along_the_track() -> None:
    # 1 in 6 at 46 mm: 276 mm along the middle; 100 mm of what that is along the leg are leg.
    foul = (276**2 + 23**2) ** 0.5 - 100
    measures = {"crossing_number": 6, "leg_mm": 100}
    found = yard(
        {
            "spacing_mm": 46,
            "points": {"p3": measures, "p4": measures},
            "signals": {"6": {"at_mm": 30}},
        }
    )
    assert found["coal"].at_most_mm == pytest.approx(620 - foul)
    # At 30 mm from p3 the signal is nearer to it than the fouling place: that one bounds a wagon.
    assert found["siding"].at_most_mm == pytest.approx(400 - foul)
    assert found["siding"].bounds[0] == "fouling place at p3.left"
    farther = yard({"signals": {"6": {"at_mm": 30}}})["siding"]
    assert (farther.at_most_mm, farther.bounds[0]) == (400 - 30, "signal 6")


def test_no_length_no_room() -> None:
    found = yard({"tracks": {"coal": {"length_mm": None}, "dock-end": {"length_mm": None}}})
    assert "coal" not in found
    assert found["dock"].at_most_mm is None
    assert found["dock"].bounds[1] == "dock-end, which has no length"


def test_the_table_says_it() -> None:
    fits = derive_dimensions(Facts(trappoint.load(example_text(GOODS))))
    told = {row["track"]: row for row in json.loads(json.dumps(fits.to_json()))["yards"]}
    assert told["siding"]["trains"] == {"short": False, "long": False}
    assert told["coal"]["trains"] == {"short": None, "long": False}
    assert told["dock"]["yard"] == "goods"
    text = render(fits, "a", RenderOptions())
    assert "Which trains fit on the tracks of yards" in text
    assert "goods  dock-end  < 750" in text
