"""Lengths across points and crossings, added up by hand."""

from __future__ import annotations

import json
from math import atan, pi, tan
from typing import Any

import pytest

import trappoint
from rules.plans import example_text, patched
from trappoint.core.terminal import RenderOptions
from trappoint.dimensions.distances import distant_distances
from trappoint.dimensions.table import derive_dimensions
from trappoint.dimensions.ways import RoomOnward, derive_rooms_onward
from trappoint.facts.facts import Facts
from trappoint.reporting.dimensions_text import render

# Kelpie Quay with its signal 4 beyond p3: from loop-west a train runs on to loop-east.
LONG_LOOP: dict[str, Any] = {
    "points": {"p3": {"leg_mm": 150, "toe_mm": 90}},
    "signals": {
        "4": {"track": "loop-east", "mount": "post", "arms": [{"id": "4"}]},
        "5": {"track": "loop-west"},
    },
}


def facts(*patches: dict[str, Any]) -> Facts:
    plan: Any = json.loads(example_text({}))
    for patch in patches:
        plan = patched(plan, patch)
    return Facts(trappoint.load(json.dumps(plan)))


def onward(*patches: dict[str, Any]) -> dict[tuple[str, ...], RoomOnward]:
    found = derive_rooms_onward(facts(LONG_LOOP, *patches))
    return {(one.room.place, *one.over, *one.room.bounds): one for one in found}


def test_from_the_stand_over_the_points_to_the_signal() -> None:
    found = onward()
    assert list(found) == [("loop-west", "p3", "signal 5", "signal 4")]
    room = next(iter(found.values())).room
    # 900 mm of loop-west, 90 and 150 mm of p3, 320 mm of loop-east.
    assert (room.at_most_mm, room.known) == (900 + 90 + 150 + 320, True)


@pytest.mark.parametrize(
    "missing",
    [
        {"points": {"p3": {"toe_mm": None}}},
        {"points": {"p3": {"leg_mm": None}}},
        {"tracks": {"loop-east": {"length_mm": None}}},
        {"tracks": {"loop-west": {"length_mm": None}}},
    ],
)
def test_where_a_length_is_not_given_nothing_is_told(missing: dict[str, Any]) -> None:
    assert onward(missing) == {}


def test_nothing_beyond_a_signal() -> None:
    assert derive_rooms_onward(facts({"points": {"p3": {"leg_mm": 150, "toe_mm": 90}}})) == []


def test_from_the_leg_to_the_toe_and_to_the_fouling_place() -> None:
    # The siding has no signal: signal 5, at loop-west's end, holds a train from it.
    # 1 in 6 at 46 mm: 276 mm along the middle; along the leg, 100 mm belong to p1.
    patch = {
        "tracks": {"siding": {"stand": True}},
        "spacing_mm": 46,
        "points": {"p1": {"crossing_number": 6, "leg_mm": 100}},
        "signals": {"6": None},
    }
    found = onward(patch)
    key = ("siding", "p3", "fouling place at p1.left", "buffer")
    foul = (276**2 + 23**2) ** 0.5 - 100
    assert found[key].room.at_most_mm == pytest.approx(610 + 150 + 90 + 900 - foul)


def down(track: str, arm: str, kind: str, at_mm: float | None = None) -> dict[str, Any]:
    post: dict[str, Any] = {"track": track, "for": "down", "arms": [{"id": arm, "kind": kind}]}
    return post if at_mm is None else {**post, "at_mm": at_mm}


CROSSED: dict[str, Any] = {
    "format": "trappoint-layout/1",
    "title": "Will-o'-the-Wisp",
    "tracks": {
        "west": {"up": "buffer", "down": "x.a1", "length_mm": 800, "stand": True},
        "east": {"up": "x.a2", "down": "edge:e", "length_mm": 300},
        "south": {"up": "buffer", "down": "x.b1", "length_mm": 700},
        "north": {"up": "x.b2", "down": "edge:n", "length_mm": 200},
    },
    "crossings": {"x": {"leg_mm": 110}},
    # It fits between the shunt signal and the crossing: a train may stand there.
    "trains": {"short": {"length_mm": 600}},
    "signals": {
        "1": {"track": "east", "for": "down", "arms": [{"id": "1"}]},
        "2": {"track": "south", "for": "down", "arms": [{"id": "2"}]},
        "3": {"track": "west", "for": "down", "at_mm": 100, "arms": [{"id": "3", "kind": "shunt"}]},
        "9": {
            "track": "west",
            "for": "down",
            "at_mm": 60,
            "arms": [{"id": "9", "kind": "distant"}],
        },
    },
}


def crossed(kind: str, patch: dict[str, Any] | None = None) -> Facts:
    plan = patched(patched(CROSSED, {"crossings": {"x": {"kind": kind}}}), patch or {})
    return Facts(trappoint.load(json.dumps(plan)))


def test_straight_across_a_diamond() -> None:
    (found,) = derive_rooms_onward(crossed("diamond"))
    # West is parted at 100 mm by shunt signal 3: from there it is 700 mm to the crossing.
    assert (found.room.place, found.over) == ("west.2", ("x",))
    assert found.room.at_most_mm == 700 + 110 + 110 + 300


def test_the_road_of_a_slip_has_no_length() -> None:
    # From a1 it leads to b2 as well: of that road no length is given, of the other one it is.
    signal = {"signals": {"4": down("north", "4", "stop")}}
    found = derive_rooms_onward(crossed("single-slip", signal))
    assert [room.room.bounds[1] for room in found] == ["signal 1"]


def test_a_distant_across_a_crossing_and_past_a_shunt_signal() -> None:
    (found,) = distant_distances(crossed("diamond"))
    assert (found.arm, found.to) == ("9", "1")
    assert found.model_mm == (800 - 60) + 110 + 110 + 300


def test_a_distant_across_points() -> None:
    post = {"track": "loop-west", "for": "down", "at_mm": 300}
    distant = {"8": {**post, "arms": [{"id": "8", "kind": "distant"}]}}
    (found,) = distant_distances(facts(LONG_LOOP, {"signals": distant}))
    assert (found.to, found.model_mm) == ("4", 900 - 300 + 90 + 150 + 320)
    unknown = facts(LONG_LOOP, {"signals": distant, "points": {"p3": {"toe_mm": None}}})
    assert distant_distances(unknown) == []


def test_of_two_ways_to_a_signal_none_is_told() -> None:
    measures = {"leg_mm": 150, "toe_mm": 90}
    patch: dict[str, Any] = {
        "tracks": {"town-line": {"length_mm": 1000}},
        "points": {"p1": measures, "p2": measures, "p3": measures},
        "signals": {
            **dict.fromkeys(("1", "2", "4")),
            "20": {**down("quarry-line", "20", "stop"), "at_mm": 100},
            "8": down("town-line", "8", "distant", 10),
        },
    }
    assert distant_distances(facts(patch)) == []
    (found,) = distant_distances(facts(patch, {"tracks": {"loop-west": {"running": "up"}}}))
    assert found.model_mm == (1000 - 10) + 240 + 1450 + 240 + 100


def test_how_much_shorter_the_curved_road_is() -> None:
    # Between two tangents that meet at the angle of 1 in 8: the tangents against the arc.
    angle, radius = 2 * atan(1 / 16), 900
    tangents, arc = 2 * radius * tan(angle / 2), radius * angle
    assert round(tangents - arc, 2) == 0.15
    assert arc < pi * radius


def test_the_table_says_it() -> None:
    trains = {"trains": {"fits": {"length_mm": 1450}, "long": {"length_mm": 1470}}}
    table = derive_dimensions(facts(LONG_LOOP, trains))
    (row,) = table.to_json()["onward"]
    assert (row["place"], row["over"]) == ("loop-west", ["p3"])
    assert row["trains"] == {"fits": True, "long": False}
    assert "loop-west  p3    1,460  signal 5  signal 4  yes   no" in render(
        table, "a", RenderOptions()
    )
