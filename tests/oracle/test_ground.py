"""Moves and routes of the oracle, on small plans worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest

from oracle.cases import a_plan, movement, without
from oracle.ground import Ground
from oracle.heads import NotJudgedError
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
    # A loop from p to q: left-left and right-right are the only paths. If the normal lies differ,
    # each path needs one of the points normal and the other reverse.
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
    # Where the route goes on into the shed, what was run off on the way is free again; but the
    # points lie for the first train until it is in the shed.
    on = " ".join([*there, "shed"])
    shunts = ["A set-off down", f"A take H {on}", *runs]
    with pytest.raises(ReplayError, match="step 9, train B: the other train needs p otherwise"):
        replay(plan, movement("home", "bay", *shunts, *then))
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement("home", "bay", *shunts, "A run shed", *then))
    with pytest.raises(ReplayError, match=r"step 4, train B: .* promised to the other"):
        replay(plan, movement("home", "bay", "A set-off down", f"A take H {on}", *then))


def test_a_train_beside_a_ring_that_is_cut_twice_meets_another_round_the_back() -> None:
    cut = {"D": "r down 300", "E": "r down 600"}
    ring = a_plan({"r": "joint:j joint:j 900 stand"}, cut)
    replay(ring, movement("r.1", "r.2", "A set-off up", "A run r.2"))
    all_round = {**cut, "U": "r up 300", "V": "r up 600"}
    assert holds(a_plan({"r": "joint:j joint:j 900 stand"}, all_round))


# ---- running -----------------------------------------------------------------------------------


def test_points_trailed_into_a_one_way_line_are_not_entered() -> None:
    # Trains run up the line, into the points. A train in one of the sidings could not leave them.
    tracks = {"line": "p.toe edge:l up", "a": "buffer p.left", "b": "buffer p.right"}
    plan = a_plan(tracks, {"L": "line up"}, points={"p": {"normal": "left"}})
    assert routes_of(plan) == {"L": [["p", "a"], ["p", "b"]]}
    with pytest.raises(ReplayError, match="no move leads from a to p"):
        replay(plan, movement("a", "b", "A set-off down", "A run p"))
    assert holds(plan)
    # Where the line is for both ways, nothing holds the trains in the sidings.
    tracks["line"] = "p.toe edge:l"
    assert not holds(a_plan(tracks, {"L": "line up"}, points={"p": {"normal": "left"}}))


def test_a_head_that_faces_the_wrong_way_of_a_one_way_line_has_no_route() -> None:
    tracks = {"a": "edge:w joint:j down", "b": "joint:j edge:e down"}
    plan = a_plan(tracks, {"D": "a down", "U": "b up", "V": "b up 300", "X": "b down 500"})
    # V cuts b, and so does X, which faces trains. U and V face no train ever.
    assert routes_of(plan) == {"D": [["b.1", "b.2"]], "U": [], "V": [], "X": [["b.3"]]}


def test_routes_end_at_a_limit() -> None:
    tracks = {
        "w": "edge:w p.toe",
        "a": "p.left buffer up",
        "b": "p.right joint:j",
        "c": "joint:j buffer up",
    }
    points = {"p": {"normal": "left"}}
    signals = {"W": "w down both", "A": "a up", "C": "c up"}
    plan = a_plan(tracks, signals, points=points)
    # Not into a; over b to the joint where c turns the train away, by stop arm and shunt arm.
    limit = [["p", "b"], ["p", "b"]]
    assert routes_of(plan) == {"W": limit, "A": [["p", "w"]], "C": [["b", "p", "w"]]}
    assert holds(plan)
    # A train on c sets off up only, so its down end needs no signal.
    with pytest.raises(ReplayError, match="cannot set off down"):
        replay(plan, movement("c", "w", "A set-off down"))
    # It is no end of the track where the train stands at a limit; it may not turn there.
    waits = ["A set-off down", "A take W p b", "A run p", "A run b"]
    with pytest.raises(ReplayError, match="b is no stand"):
        replay(plan, movement("w", None, *waits, "A set-off up"))


def test_a_route_ends_at_the_limit_before_a_one_way_line() -> None:
    tracks = {
        "w": "edge:w joint:1",
        "neck": "joint:1 p.left",
        "bay": "buffer p.right",
        "out": "p.toe edge:o up",
    }
    signals = {"W": "w down", "O": "out up", "N": "neck up"}
    plan = a_plan(tracks, signals, points={"p": {"normal": "left"}})
    assert routes_of(plan) == {"W": [["neck"]], "O": [["p", "bay"], ["p", "neck"]], "N": [["w"]]}
    assert holds(plan)


# ---- groups ------------------------------------------------------------------------------------


def test_a_route_has_no_group_both_normal_and_reverse() -> None:
    # A reversing loop: into it by the left leg, and out of it by the right one.
    tracks = {"lead": "edge:l p.toe", "loop": "p.left p.right"}
    plan = a_plan(tracks, {"L": "lead down"}, points={"p": {"normal": "left"}})
    assert routes_of(plan) == {"L": []}  # nothing in the loop ends it
    held = a_plan(tracks, {"L": "lead down", "D": "loop down", "U": "loop up"},
                  points={"p": {"normal": "left"}})  # fmt: skip
    assert routes_of(held)["L"] == [["p", "loop"], ["p", "loop"]]


def test_groups_are_merged_over_points_inside_yards() -> None:
    tracks = {
        "w": "edge:w p.toe",
        "a": "p.left q.left",
        "b": "p.right q.right",
        "e": "q.toe edge:e",
        "yl": "y.left buffer",
        "yr": "y.right buffer",
        "yt": "buffer y.toe",
    }
    points = {each: {"normal": "left"} for each in "pqy"}
    points["q"] = {"normal": "right"}
    plan = a_plan(tracks, {"W": "w down"}, points=points)
    plan["yards"] = {"shed": {"tracks": ["yl", "yr", "yt"], "points": ["y"]}}
    assert routes_of(plan)["W"] == [["p", "a", "q", "e"], ["p", "b", "q", "e"]]
    plan["worked_together"] = [["p", "y"], ["y", "q"]]
    assert routes_of(plan)["W"] == []


# ---- yards -------------------------------------------------------------------------------------


def a_yard() -> Any:
    return a_plan(
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


def test_a_yard_not_held_at_its_edge_fails() -> None:
    plan = without(a_yard(), "Y")
    assert meeting(plan) == movement("line", "y", "B run line")
    replay(plan, movement("line", "y", "B set-off", "B run line"))
    assert not holds(without(a_yard(), "L"))


def test_a_yard_is_not_left_or_entered_against_the_running_of_its_neck() -> None:
    plan = a_yard()
    plan["tracks"]["neck"]["running"] = "down"
    plan = without(plan, "Y")
    assert holds(plan)
    with pytest.raises(ReplayError, match="no move leads from y to line"):
        replay(plan, movement("line", "y", "B run line"))
    plan["tracks"]["neck"]["running"] = "up"
    assert routes_of(plan) == {"L": []}


def test_within_a_yard_there_is_nowhere_to_run_to() -> None:
    with pytest.raises(ReplayError, match="no move leads from y to y"):
        replay(a_yard(), movement("line", "y", "B run y"))


def test_a_yard_left_over_an_element_of_its_own_cannot_be_held_there() -> None:
    plan = a_plan(
        {"line": "edge:l p.toe", "one": "p.left buffer", "two": "p.right buffer"},
        {"L": "line down", "A": "one up", "B": "two up"},
        points={"p": {"normal": "left"}},
        yards={"y": {"tracks": ["one", "two"], "points": ["p"]}},
    )
    assert routes_of(plan) == {"L": [["y"]], "A": [], "B": []}
    replay(plan, movement("line", "y", "B run line"))


def test_trains_come_on_to_a_yard_and_leave_it_at_an_edge() -> None:
    plan = a_yard()
    plan["tracks"]["two"] = {"up": "p.right", "down": "edge:out"}
    ground = Ground(plan)
    assert ground.come_on == [("l", ("line", "down")), ("out", ("y", ""))]
    assert ("y", "") in ground.leave
    with pytest.raises(ReplayError, match="y is occupied by"):
        replay(plan, movement(None, "y", "A come-on out y"))
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement(None, "y", "B leave", "A come-on out y"))
    # A signal at the edge keeps the train in; no route leads on from it.
    held = a_plan({}, {"L": "line down", "Y": "neck up", "X": "two down"})["signals"]
    plan = {**plan, "signals": held}
    assert routes_of(plan)["X"] == []
    with pytest.raises(ReplayError, match="cannot leave the plan from y"):
        replay(plan, movement(None, "y", "B leave"))


# ---- limits of what is judged ------------------------------------------------------------------


def test_a_signal_with_more_than_4096_routes_is_not_judged() -> None:
    def chain(loops: int) -> Any:
        tracks = {"w": "edge:w p0.toe"}
        points = {}
        for n in range(loops):
            tracks |= {
                f"l{n}": f"p{n}.left q{n}.right",
                f"r{n}": f"p{n}.right q{n}.left",
                f"t{n}": f"q{n}.toe " + (f"p{n + 1}.toe" if n < loops - 1 else "edge:e"),
            }
            points |= {f"p{n}": {"normal": "left"}, f"q{n}": {"normal": "left"}}
        return a_plan(tracks, {"W": "w down"}, points=points)

    assert len(routes_of(chain(12))["W"]) == 4096
    with pytest.raises(NotJudgedError):
        routes_of(chain(13))
