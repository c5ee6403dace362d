"""Verbs for signals and arms, and what stands where."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from amount import is_long
from trappoint.checking.check import check_content
from trappoint.facts.facts import Facts
from trappoint.laying.refusing import Refused
from trappoint.laying.steps import lay
from trappoint.model.building import build_layout
from trappoint.model.layout import HOLDING

from .examples import EXAMPLES, IN_ORDER

if TYPE_CHECKING:
    from trappoint.model.layout import HOLDING, Layout

KELPIE = (EXAMPLES / "kelpie-quay.layout.json").read_text("utf-8")
SELKIE = (EXAMPLES / "selkie-harbour.layout.json").read_text("utf-8")
BOGGART = (EXAMPLES / "boggart-bridge.layout.json").read_text("utf-8")

Data = dict[str, Any]


def laid(text: str, *steps: Data) -> Data:
    found: Data = json.loads(lay(text, steps).text)
    return found


def said(text: str, *steps: Data) -> str:
    return lay(text, steps).said[-1]


def refusal(text: str, *steps: Data) -> str:
    with pytest.raises(Refused) as refused:
        lay(text, steps)
    assert refused.value.step == len(steps) - 1
    return f"{refused.value.message} {refused.value.fix}"


def without_signals(text: str) -> str:
    plan = json.loads(text)
    keys = ("signals", "levers", "scenes", "sessions", "accept")
    return json.dumps({key: value for key, value in plan.items() if key not in keys})


BARE = without_signals(KELPIE)


# --- put


def test_a_home_has_an_arm_for_each_road_from_left_to_right() -> None:
    steps = [
        {"do": "put-signal", "track": track, "for": heading}
        for track, heading in (
            ("town-line", "down"), ("main", "down"), ("main", "up"), ("loop-west", "down"),
            ("loop-west", "up"), ("siding", "up"), ("quarry-line", "up"),
        )
    ]  # fmt: skip
    plan = laid(BARE, *steps)
    arms = {key: [arm["id"] for arm in each["arms"]] for key, each in plan["signals"].items()}
    expected = json.loads(KELPIE)["signals"]
    assert arms.keys() == expected.keys()
    assert check_content(json.dumps(plan), "plan").holds is True
    # The signals that were put first saw longer roads.
    assert [arm["id"] for arm in plan["signals"]["1"]["arms"]] == ["1L", "1M", "1R"]
    laid_again = lay(json.dumps(plan), [{"do": "arm-signals"}])
    assert laid_again.said[0].endswith("there are changes on signal 1.")
    again = json.loads(laid_again.text)
    assert spoken(again) == spoken(json.loads(KELPIE))
    assert check_content(laid_again.text, "plan").findings == ()
    assert "Each signal has an arm" in said(laid_again.text, {"do": "arm-signals"})


def spoken(plan: Data) -> dict[tuple[str, str, float | None], list[list[tuple[str, ...]]]]:
    """Return for each head the roads of its stop and shunt arms, from left to right, as places."""
    facts = Facts(build_layout(plan))
    found: dict[tuple[str, str, float | None], list[list[tuple[str, ...]]]] = {}
    for arm, routes in zip(facts.assignment.arms, facts.assignment.routes_of, strict=True):
        if arm.kind in HOLDING:
            paths = [facts.routes.all[route].path for route in routes]
            roads = [tuple(facts.network.place(state).id for state in path) for path in paths]
            found.setdefault((arm.track, arm.heading, arm.at_mm), []).append(roads)
    return found


@pytest.mark.parametrize("path", IN_ORDER, ids=lambda path: path.name.partition(".")[0])
def test_signals_put_where_an_example_has_them_hold_as_well(path: Any) -> None:
    """Each step gives only the place and form of a signal; its arms follow from the track."""
    plan = json.loads(path.read_text("utf-8"))
    if "boards" in plan or (len(plan["tracks"]) > 60 and not is_long()):
        return
    layout: Layout = build_layout(plan)
    steps = [put(signal, head) for signal in layout.signals.values() for head in signal.heads]
    first = [step for step in steps if step is not None]
    bare = without_signals(json.dumps(plan))
    text = lay(bare, [*first, {"do": "arm-signals"}]).text
    report = check_content(text, "plan")
    assert report.holds is True
    assert not [finding for finding in report.findings if finding.level == "error"]
    discs = {(arm.track, arm.heading, arm.at_mm) for each in layout.signals.values()
             for arm in each.arms if each.form == "disc"}  # fmt: skip
    wanted, got = spoken(plan), spoken(json.loads(text))
    assert {spot: roads for spot, roads in got.items() if spot not in discs} == {
        spot: roads for spot, roads in wanted.items() if spot not in discs
    }
    for spot in discs & wanted.keys():  # One disc gives leave for all of them.
        assert {road for arm in got[spot] for road in arm} == {
            road for arm in wanted[spot] for road in arm
        }


def put(signal: Any, head: Any) -> Data | None:
    if not head.holds:
        return None
    step = {"do": "put-signal", "id": signal.id, "track": head.track, "for": head.heading,
            "form": signal.form}  # fmt: skip
    if head.at_mm is not None:
        step["at_mm"] = head.at_mm
    return step if head.stops else {**step, "kind": "shunt"}


def test_a_disc_stands_on_the_ground_and_at_the_foot_of_a_signal_shunts() -> None:
    step = {"do": "put-signal", "track": "main", "for": "down", "form": "disc"}
    assert laid(KELPIE, step)["signals"]["8"] == {
        "track": "main", "for": "down", "mount": "ground", "form": "disc",
        "arms": [{"id": "8", "kind": "shunt"}],
    }  # fmt: skip
    alone = laid(BARE, step)["signals"]["1"]
    assert alone["arms"] == [{"id": "1"}]
    assert "stands there already" in refusal(KELPIE, {**step, "form": "lower-quadrant"})


def test_a_distant_repeats_what_it_is_told_or_the_next_signal() -> None:
    step = {"do": "put-signal", "track": "quarry-line", "for": "up", "kind": "distant", "at_mm": 9}
    plan = laid(
        KELPIE, {**step, "name": "Up distant"}, {"do": "rename", "at": "signals/8", "to": "D"}
    )
    assert plan["signals"]["D"] == {
        "track": "quarry-line", "for": "up", "at_mm": 9, "name": "Up distant",
        "arms": [{"id": "8", "kind": "distant"}],
    }  # fmt: skip
    assert laid(KELPIE, {**step, "repeats": "7L"})["signals"]["8"]["arms"][0]["repeats"] == "7L"
    assert "Only a distant repeats" in refusal(KELPIE, {**step, "kind": "shunt", "repeats": "7L"})


@pytest.mark.parametrize(
    ("step", "words"),
    [
        ({"track": "main", "for": "down", "at_mm": 0}, "no longer be on main"),
        ({"track": "main", "for": "up", "at_mm": 1450}, "no longer be on main"),
        ({"track": "main", "for": "down", "at_mm": 1451}, "only 1,450 mm long"),
        ({"track": "main", "for": "down", "id": "1"}, "called 1 already"),
        ({"track": "main", "for": "sideways"}, "Give down or up"),
        ({"track": "mian", "for": "down"}, "Write main if you mean that"),
    ],
)
def test_a_signal_that_no_train_meets_is_refused(step: Data, words: str) -> None:
    assert words in refusal(KELPIE, {"do": "put-signal", **step})


def test_a_signal_against_the_running_is_refused() -> None:
    step = {"do": "put-signal", "track": "down-west", "for": "up"}
    assert "Trains run only down on track down-west" in refusal(BOGGART, step)


def test_a_signal_right_at_the_end_needs_no_measure() -> None:
    step = {"do": "put-signal", "track": "main", "for": "down", "at_mm": 1450}
    assert "at_mm" not in laid(BARE, step)["signals"]["1"]


def test_numbers_go_on_with_the_letters_of_the_signals_nearby() -> None:
    vale = (EXAMPLES / "hobthrush-vale.layout.json").read_text("utf-8")
    near = {"do": "put-signal", "track": "n-spur-1", "for": "up", "kind": "distant"}
    assert list(laid(vale, near)["signals"])[-1] == "N10"


# --- moved, turned, changed


def test_a_signal_moves_along_its_track_with_its_arms() -> None:
    plan = laid(KELPIE, {"do": "move-signal", "signal": "2", "at_mm": 1200})
    assert plan["signals"]["2"] == {
        "track": "main", "for": "down", "at_mm": 1200, "arms": [{"id": "2"}],
    }  # fmt: skip
    back = laid(json.dumps(plan), {"do": "move-signal", "signal": "2", "at_mm": None})
    assert back == json.loads(KELPIE)
    assert "stands there" in refusal(KELPIE, {"do": "move-signal", "signal": "2", "at_mm": 1450})
    assert "moves nothing" in refusal(KELPIE, {"do": "move-signal", "signal": "2"})
    over = {"do": "move-signal", "signal": "2", "track": "loop-west", "for": "up"}
    assert "both have stop arms" in refusal(KELPIE, over)


def test_a_signal_turned_round_is_armed_for_the_other_trains() -> None:
    taken = {"do": "take-out-signal", "signal": "5"}
    plan = laid(KELPIE, taken, {"do": "turn-signal", "signal": "4"})
    assert plan["signals"]["4"] == {
        "track": "loop-west", "for": "up", "mount": "bracket", "arms": [{"id": "4L"}],
    }  # fmt: skip
    back = laid(json.dumps(plan), {"do": "turn-signal", "signal": "4"})
    assert [arm["to"] for arm in back["signals"]["4"]["arms"]] == ["siding", "quarry-line"]


def test_the_lever_of_a_signal_turned_round_works_the_first_of_its_arms() -> None:
    out = {"do": "take-out-signal", "signal": "10"}
    plan = laid(SELKIE, out, {"do": "turn-signal", "signal": "9"})
    first, *more = (arm["id"] for arm in plan["signals"]["9"]["arms"])
    assert more
    assert first != "9"
    assert plan["levers"]["21"] == {"arms": [first]}


def test_turning_one_that_stands_along_the_track_leaves_it_there() -> None:
    out = {"do": "move-signal", "signal": "6", "at_mm": 1200}
    plan = laid(SELKIE, out, {"do": "turn-signal", "signal": "6"})
    assert plan["signals"]["6"] == {
        "track": "plat-3", "for": "down", "at_mm": 1200, "arms": [{"id": "6"}],
        "name": "Platform 3 starter",
    }  # fmt: skip
    words = refusal(SELKIE, {"do": "turn-signal", "signal": "2"})
    assert "Trains run only down" in words


def test_arms_that_go_take_their_levers_and_scenes_along() -> None:
    plan = laid(SELKIE, {"do": "take-out-signal", "signal": "8"})
    assert plan["levers"]["20"] == {}  # A spare lever.
    assert plan["scenes"]["fish-away"]["off"] == ["9"]
    words = said(SELKIE, {"do": "take-out-signal", "signal": "8"})
    assert words == "Signal Goods starter (8) is taken out."


def test_a_signal_gets_another_side_mount_and_form() -> None:
    step = {"do": "change-signal", "signal": "2", "side": "left", "mount": "gantry",
            "form": "lower-quadrant", "duties": ["starter platform A"], "post_mm": 4}  # fmt: skip
    plan = laid(KELPIE, step)
    assert plan["signals"]["2"] == {
        "track": "main", "for": "down", "side": "left", "post_mm": 4, "mount": "gantry",
        "form": "lower-quadrant", "arms": [{"id": "2"}], "duties": ["starter platform A"],
    }  # fmt: skip
    assert said(KELPIE, step) == (
        "Signal 2: side left, mount gantry, form lower-quadrant, duties starter platform A and "
        "post 4 mm."
    )
    gone = dict.fromkeys(("side", "mount", "form", "duties", "post_mm"))
    assert laid(json.dumps(plan), {**step, **gone}) == json.loads(KELPIE)
    assert laid(KELPIE, {**step, **gone}) == json.loads(KELPIE)


def test_arms_follow_the_track() -> None:
    """Points put in beyond a signal give it a road more, and arming it again an arm more."""
    more = {"do": "put-in-points", "track": "siding", "for": "down", "leg": "dock"}
    plan = laid(KELPIE, more, {"do": "arm-signal", "signal": "4"})
    arms = plan["signals"]["4"]["arms"]
    assert [arm["id"] for arm in arms] == ["4-2", "4L", "4R"]
    assert not any("doll" in arm for arm in arms)
    step = {"do": "arm-signal", "signal": "4"}
    assert said(KELPIE, step) == "Signal 4 has an arm for each of its roads."
    assert lay(KELPIE, [step]).text == KELPIE


# --- arms


def test_a_calling_on_arm_stands_beneath_the_only_stop_arm() -> None:
    plan = laid(KELPIE, {"do": "add-arm", "signal": "2", "kind": "calling-on"})
    assert plan["signals"]["2"]["arms"] == [
        {"id": "2"}, {"id": "2C", "kind": "calling-on", "under": "2"},
    ]  # fmt: skip
    assert "mount" not in plan["signals"]["2"]
    words = refusal(KELPIE, {"do": "add-arm", "signal": "1", "kind": "calling-on"})
    assert "Say `under`: 1L or 1R." in words
    plan = laid(KELPIE, {"do": "add-arm", "signal": "1", "kind": "calling-on", "under": "1L"})
    assert [arm["id"] for arm in plan["signals"]["1"]["arms"]] == ["1L", "1LC", "1R"]
    words = refusal(json.dumps(plan), {"do": "take-out-arm", "arm": "1L"})
    assert "Take out 1LC first." in words
    assert "not on signal 2" in refusal(KELPIE, {"do": "add-arm", "signal": "2", "under": "1L"})


def test_an_arm_more_makes_a_post_a_bracket() -> None:
    posted = laid(KELPIE, {"do": "change-signal", "signal": "6", "mount": "post"})
    step = {"do": "add-arm", "signal": "6", "to": "main", "left_of": "6"}
    plan = laid(json.dumps(posted), step)
    assert plan["signals"]["6"] == {
        "track": "siding", "for": "up",
        "arms": [{"id": "6-2", "to": "main"}, {"id": "6", "to": "loop-west"}],
    }  # fmt: skip
    assert laid(json.dumps(plan), {"do": "take-out-arm", "arm": "6-2"}) == json.loads(KELPIE)


def test_one_post_for_two_tracks() -> None:
    taken = {"do": "take-out-signal", "signal": "5"}
    step = {"do": "add-arm", "signal": "3", "id": "5", "track": "loop-west", "left_of": "3"}
    plan = laid(KELPIE, taken, step)
    assert plan["signals"]["3"]["arms"] == [{"id": "5", "track": "loop-west"}, {"id": "3"}]
    assert check_content(json.dumps(plan), "plan").holds is True
    assert "for another track" in refusal(json.dumps(plan), {"do": "turn-signal", "signal": "3"})


def test_an_arm_gets_another_kind_road_and_place() -> None:
    plan = laid(
        KELPIE,
        {"do": "change-arm", "arm": "1L", "to": ["siding", "loop-west"], "height_mm": 90},
        {"do": "change-arm", "arm": "1R", "left_of": "1L"},
        {"do": "change-arm", "arm": "1R", "expects": {"p1": "normal"}, "never_with": ["1L"]},
        {"do": "change-arm", "arm": "6", "kind": "shunt", "to": None},
    )
    assert plan["signals"]["1"]["arms"] == [
        {"id": "1R", "to": "main", "expects": {"p1": "normal"}, "never_with": ["1L"]},
        {"id": "1L", "to": ["siding", "loop-west"], "height_mm": 90},
    ]
    assert plan["signals"]["6"]["arms"] == [{"id": "6", "kind": "shunt"}]
    back = laid(json.dumps(plan), {"do": "change-arm", "arm": "6", "kind": "stop"})
    assert back["signals"]["6"]["arms"] == [{"id": "6"}]
    for step, words in (
        ({"expects": {"p1": "slip"}}, "p1 cannot lie slip."),
        ({"expects": {"p9": "left"}}, 'no points or crossing "p9"'),
        ({"expects": ["p1"]}, "is a list"),
        ({"to": "p1"}, "no track, platform or yard"),
        ({"to": []}, "is an empty list"),
        ({"under": "1L"}, "beneath itself"),
        ({"left_of": "1L"}, "left of itself"),
        ({"left_of": "2"}, "not on signal 1"),
        ({"track": "main", "for": "up", "at_mm": 1450}, "no longer be on main"),
        ({}, "changes nothing"),
    ):
        assert words in refusal(KELPIE, {"do": "change-arm", "arm": "1L", **step})


def test_the_last_arm_takes_its_signal_with_it() -> None:
    words = said(KELPIE, {"do": "take-out-arm", "arm": "2"})
    assert words == "Arm 2 is taken out, and with it signal 2."
    assert "2" not in laid(KELPIE, {"do": "take-out-arm", "arm": "2"})["signals"]


def test_touched_names_the_new_signal_and_its_arms() -> None:
    touched = lay(BARE, [{"do": "put-signal", "track": "town-line", "for": "down"}]).touched
    assert set(touched) == {"signals/1", "arms/1L", "arms/1M", "arms/1R"}
