"""Places, moves and routes of the oracle, on small plans worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest

from oracle.cases import LINE, a_plan, movement, without
from oracle.two_trains import ReplayError, holds, meeting, replay, routes_of

# ---- elements ----------------------------------------------------------------------------------


def crossing_plan(kind: str) -> Any:
    return a_plan(
        {
            "aw": "edge:aw x.a1",
            "ae": "x.a2 edge:ae",
            "bw": "edge:bw x.b1",
            "be": "x.b2 edge:be",
        },
        {"AW": "aw down", "AE": "ae up", "BW": "bw down", "BE": "be up"},
        crossings={"x": {"kind": kind}},
    )


@pytest.mark.parametrize("kind", ["diamond", "single-slip", "double-slip"])
def test_a_crossing_holds_with_all_four_signals_only(kind: str) -> None:
    plan = crossing_plan(kind)
    assert holds(plan)
    for signal in plan["signals"]:
        assert not holds(without(plan, signal))


def test_two_trains_meet_on_a_diamond() -> None:
    plan = without(crossing_plan("diamond"), "BW")
    first = ["A set-off down", "A take AW x ae", "A run x"]
    replay(plan, movement("aw", "bw", *first, "B set-off down", "B run x"))


def test_slips_link_the_roads_that_they_are_said_to_link() -> None:
    straight = {"AW": [["x", "ae"]], "AE": [["x", "aw"]], "BW": [["x", "be"]], "BE": [["x", "bw"]]}
    assert routes_of(crossing_plan("diamond")) == straight
    single = {**straight, "AW": [["x", "ae"], ["x", "be"]], "BE": [["x", "aw"], ["x", "bw"]]}
    assert routes_of(crossing_plan("single-slip")) == single
    double = {**single, "AE": [["x", "aw"], ["x", "bw"]], "BW": [["x", "ae"], ["x", "be"]]}
    assert routes_of(crossing_plan("double-slip")) == double


def test_points_lead_from_the_toe_to_each_leg_and_back_only() -> None:
    plan = a_plan(
        {
            "t": "edge:t p.toe",
            "l": "p.left edge:l",
            "m": "p.middle edge:m",
            "r": "p.right edge:r",
        },
        {"T": "t down", "L": "l up", "M": "m up", "R": "r up"},
        points={"p": {"kind": "three-way", "normal": "middle"}},
    )
    back = [["p", "t"]]
    towards = [["p", "l"], ["p", "m"], ["p", "r"]]
    assert routes_of(plan) == {"T": towards, "L": back, "M": back, "R": back}
    assert holds(plan)


@pytest.mark.parametrize(("second_normal", "routes"), [("left", 2), ("right", 0)])
def test_points_worked_together_lie_alike_in_a_route(second_normal: str, routes: int) -> None:
    # A loop from p to q: left-left and right-right are the only paths. With normals told apart
    # each would need one of the points normal and the other reverse.
    plan = a_plan(
        {
            "w": "edge:w p.toe",
            "a": "p.left q.left",
            "b": "p.right q.right",
            "e": "q.toe edge:e",
        },
        {"W": "w down"},
        points={"p": {"normal": "left"}, "q": {"normal": second_normal}},
        worked_together=[["p", "q"]],
    )
    assert len(routes_of(plan)["W"]) == routes


def test_lists_of_points_worked_together_are_merged_where_they_share_a_member() -> None:
    tracks = {
        "w": "edge:w p.toe",
        "a": "p.left q.left",
        "b": "p.right buffer",
        "c": "q.right buffer",
        "e": "q.toe edge:e",
        "m": "r.toe edge:m",
        "n": "r.left buffer",
        "o": "r.right buffer",
    }
    points = {"p": {"normal": "left"}, "q": {"normal": "right"}, "r": {"normal": "left"}}
    plan = a_plan(tracks, {"W": "w down"}, points=points)
    assert routes_of(plan)["W"] == [["p", "a", "q", "e"], ["p", "b"]]
    plan["worked_together"] = [["p", "r"], ["r", "q"]]
    assert routes_of(plan)["W"] == [["p", "b"]]


def test_a_slip_is_worked_together_with_points() -> None:
    plan = crossing_plan("single-slip")
    plan["tracks"]["aw"]["up"] = "p.left"
    plan["tracks"] |= {
        "t": {"up": "edge:t", "down": "p.toe"},
        "r": {"up": "p.right", "down": "buffer"},
    }
    plan["points"] = {"p": {"normal": "left"}}
    plan["signals"] = {"T": {"track": "t", "for": "down", "arms": [{"id": "T"}]}}
    both = [["p", "aw", "x", "ae"], ["p", "aw", "x", "be"], ["p", "r"]]
    assert routes_of(plan)["T"] == both
    plan["worked_together"] = [["p", "x"]]
    assert routes_of(plan)["T"] == [both[0], both[2]]


BALLOON = a_plan(
    {
        "home": "edge:h p.left",
        "bay": "buffer p.right",
        "lead": "p.toe t.r1",
    },
    {"H": "home down", "B": "bay down"},
    points={"p": {"normal": "left"}},
    turntables={"t": {"roads": ["r1"]}},
)


def test_a_turntable_turns_a_train_back_onto_the_road_it_came_by() -> None:
    # Back over p with the same lie, so home again and not into the bay.
    assert routes_of(BALLOON) == {
        "H": [["p", "lead", "t", "lead", "p", "home"]],
        "B": [["p", "lead", "t", "lead", "p", "bay"]],
    }
    assert holds(BALLOON)


def test_a_train_reversed_on_a_turntable_runs_into_a_bay_behind_it() -> None:
    plan = without(BALLOON, "H")
    runs = ["A run p", "A run lead", "A run t", "A run lead", "A run p", "A run bay"]
    replay(plan, movement("home", "bay", "A set-off down", *runs))
    with pytest.raises(ReplayError, match="no move leads from p to bay"):
        replay(plan, movement("home", "bay", "A set-off down", "A run p", "A run bay"))


def test_a_place_that_a_route_comes_to_again_stays_promised() -> None:
    plan = a_plan(
        {
            "home": "edge:h p.left",
            "bay": "buffer p.right",
            "neck": "p.toe q.toe",
            "stub": "q.right buffer",
            "lead": "q.left t.r1",
            "shed": "t.r2 buffer",
        },
        {"H": "home down", "B": "bay down", "T": "stub up", "S": "shed up"},
        points={"p": {"normal": "left"}, "q": {"normal": "left"}},
        turntables={"t": {"roads": ["r1", "r2"]}},
    )
    there = ["p", "neck", "q", "lead", "t"]
    runs = [f"A run {place}" for place in there]
    then = ["B set-off down", "B take B p neck q stub"]
    back = " ".join([*there, *there[-2::-1], "home"])
    with pytest.raises(ReplayError, match=r"step 9, train B: .* promised to the other"):
        replay(plan, movement("home", "bay", "A set-off down", f"A take H {back}", *runs, *then))
    # Where the route goes on into the shed, what was run off on the way is free again.
    on = " ".join([*there, "shed"])
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement("home", "bay", "A set-off down", f"A take H {on}", *runs, *then))
    with pytest.raises(ReplayError, match=r"step 4, train B: .* promised to the other"):
        replay(plan, movement("home", "bay", "A set-off down", f"A take H {on}", *then))


def test_a_ring_brings_a_train_back_to_the_signal_it_started_from() -> None:
    ring = a_plan({"r": "joint:j joint:j 900 stand"}, {"D": "r down 300"})
    assert routes_of(ring) == {"D": [["r.2", "r.1"]]}
    assert not holds(ring)
    both = a_plan({"r": "joint:j joint:j 900 stand"}, {"D": "r down 300", "U": "r up 300"})
    assert not holds(both)  # round the back, over the joint
    all_round = {"D": "r down 300", "U": "r up 300", "E": "r down", "V": "r up"}
    assert holds(a_plan({"r": "joint:j joint:j 900 stand"}, all_round))


# ---- yards -------------------------------------------------------------------------------------

YARD = a_plan(
    {
        "line": "edge:l joint:j",
        "neck": "joint:j p.toe 900",
        "one": "p.left buffer",
        "two": "p.right buffer",
    },
    {"L": "line down", "Y": "neck up"},
    points={"p": {"normal": "left"}},
    yards={"y": {"tracks": ["neck", "one", "two"], "points": ["p"]}},
)


def test_a_yard_is_one_place_and_needs_signals_only_at_its_edge() -> None:
    assert holds(YARD)
    assert routes_of(YARD) == {"L": [["y"]], "Y": [["line"]]}
    without_yard = {key: value for key, value in YARD.items() if key != "yards"}
    assert not holds(without_yard)


def test_a_yard_not_held_at_its_edge_fails() -> None:
    plan = without(YARD, "Y")
    assert meeting(plan) == movement("line", "y", "B run line")
    replay(plan, movement("line", "y", "B set-off", "B run line"))
    assert not holds(without(YARD, "L"))


def test_of_the_signals_in_a_yard_only_the_nearest_to_the_border_counts() -> None:
    inner = a_plan({}, {"I": "neck up 600", "J": "one up", "K": "neck down 100"})["signals"]
    assert routes_of({**YARD, "signals": {**YARD["signals"], **inner}}) == {
        "L": [["y"]],
        "Y": [["line"]],
        "I": [],
        "J": [],
        "K": [],
    }
    # Without Y, the signal within the yard is the one that holds trains leaving over the neck.
    plan = {**YARD, "signals": {"L": YARD["signals"]["L"], **inner}}
    assert routes_of(plan)["I"] == [["line"]]
    assert holds(plan)


def test_of_two_signals_along_the_neck_the_one_nearer_to_the_border_counts() -> None:
    two = a_plan({}, {"L": "line down", "far": "neck up 600", "near": "neck up 200"})["signals"]
    assert routes_of({**YARD, "signals": two}) == {"L": [["y"]], "far": [], "near": [["line"]]}
    turned = a_plan({}, {"far": "neck down 200", "near": "neck down 600"})["signals"]
    neck = {"up": "p.toe", "down": "joint:j", "length_mm": 900}
    plan = {**YARD, "tracks": {**YARD["tracks"], "neck": neck}, "signals": turned}
    assert routes_of(plan) == {"far": [], "near": [["line"]]}


def test_a_yard_is_not_left_against_the_running_of_its_neck() -> None:
    neck = {**YARD["tracks"]["neck"], "running": "down"}
    plan = without({**YARD, "tracks": {**YARD["tracks"], "neck": neck}}, "Y")
    assert holds(plan)
    with pytest.raises(ReplayError, match="no move leads from y to line"):
        replay(plan, movement("line", "y", "B run line"))


def test_within_a_yard_there_is_nowhere_to_run_to() -> None:
    with pytest.raises(ReplayError, match="no move leads from y to y"):
        replay(YARD, movement("line", "y", "B run y"))


def test_a_yard_left_over_an_element_of_its_own_can_not_be_held_there() -> None:
    plan = a_plan(
        {"line": "edge:l p.toe", "one": "p.left buffer", "two": "p.right buffer"},
        {"L": "line down", "A": "one up", "B": "two up"},
        points={"p": {"normal": "left"}},
        yards={"y": {"tracks": ["one", "two"], "points": ["p"]}},
    )
    assert not holds(plan)


# ---- sections, running, stands -----------------------------------------------------------------


def test_signals_along_a_track_cut_it_into_sections() -> None:
    plan = a_plan(
        {"k": "edge:w edge:e 1000"}, {"D": "k down 300", "U": "k up 300", "E": "k down 700"}
    )
    assert routes_of(plan) == {"D": [["k.2"]], "E": [["k.3"]], "U": [["k.1"]]}
    assert not holds(plan)  # from k.3 up into k.2 nobody is held
    plan["signals"]["V"] = {"track": "k", "for": "up", "at_mm": 700, "arms": [{"id": "V"}]}
    assert holds(plan)


def test_signals_right_at_the_end_cut_nothing() -> None:
    tracks = {"west": "edge:w joint:j 500", "east": "joint:j edge:e 500"}
    plan = a_plan(tracks, {"W": "west down 500", "E": "east up 0"})
    assert routes_of(plan) == {"W": [["east"]], "E": [["west"]]}
    assert holds(plan)


@pytest.mark.parametrize("kind", ["distant", "calling-on"])
def test_distant_and_calling_on_arms_hold_nobody_and_cut_nothing(kind: str) -> None:
    plan = a_plan(LINE, {"W": "west down", "E": "east up", "D": "west down 200"})
    plan["signals"]["D"]["arms"][0]["kind"] = kind
    assert routes_of(plan) == {"W": [["east"]], "E": [["west"]]}
    plan["signals"]["W"]["arms"][0]["kind"] = kind
    assert routes_of(plan) == {"E": [["west"]]}
    assert not holds(plan)


def test_one_post_may_speak_for_two_tracks() -> None:
    plan = a_plan(LINE, {"W": "west down"})
    plan["signals"]["W"]["arms"].append({"id": "E", "track": "east", "for": "up"})
    assert routes_of(plan) == {"W": [["east"], ["west"]]}
    assert holds(plan)


def test_a_track_is_never_entered_against_its_running() -> None:
    tracks = {
        "w": "edge:w p.toe",
        "a": "p.left buffer up",
        "b": "p.right joint:j",
        "c": "joint:j buffer up",
    }
    points = {"p": {"normal": "left"}}
    plan = a_plan(tracks, {"W": "w down", "A": "a up", "C": "c up"}, points=points)
    # Neither into a, nor over b to the joint where c turns the train away.
    assert routes_of(plan) == {"W": [], "A": [["p", "w"]], "C": [["b", "p", "w"]]}
    assert holds(plan)
    # A train on c sets off up only, so its down end needs no signal; out of w nobody gets far.
    with pytest.raises(ReplayError, match="can not set off down"):
        replay(plan, movement("c", "w", "A set-off down"))


def test_stands_are_said_or_follow_from_platforms_and_ends() -> None:
    tracks = {"west": "edge:w joint:a", "mid": "joint:a joint:b", "east": "joint:b edge:e"}
    held = {"W": "west down", "E": "east up"}
    assert holds(a_plan(tracks, held))
    assert not holds(a_plan(tracks, held, platforms={"A": {"tracks": ["mid"]}}))
    assert not holds(a_plan({**tracks, "mid": "joint:a joint:b stand"}, held))
    told = {**tracks, "mid": "joint:a joint:b pass"}
    assert holds(a_plan(told, held, platforms={"A": {"tracks": ["mid"]}}))


def test_an_element_with_the_id_of_a_track_is_named_with_its_kind() -> None:
    plan = a_plan(
        {"k": "edge:w k.toe", "a": "k.left edge:a", "b": "k.right edge:b"},
        {"K": "k down"},
        points={"k": {"normal": "left"}},
    )
    assert routes_of(plan) == {"K": [["points:k", "a"], ["points:k", "b"]]}
