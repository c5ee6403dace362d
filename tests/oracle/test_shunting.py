"""Shunt arms in the oracle, on small plans worked out by hand.

A head with shunt arms alone holds a train that has nothing promised, and ends the routes of shunt
arms; the routes of stop arms run on over it.
"""

from __future__ import annotations

import pytest

from oracle.cases import DECEIVED, DECEIVED_MOVEMENT, a_plan, movement, without
from oracle.two_trains import ReplayError, holds, replay, routes_of

CHAIN = a_plan(
    {
        "a": "edge:a joint:1",
        "b": "joint:1 joint:2",
        "c": "joint:2 joint:3",
        "d": "joint:3 edge:d",
    },
    {"A": "a down both", "B": "b down shunt", "C": "c down", "D": "d up"},
)


def test_a_main_route_runs_past_shunt_arms_and_a_shunt_route_ends_at_them() -> None:
    assert routes_of(CHAIN) == {
        "A": [["b"], ["b", "c"]],
        "B": [["c"]],
        "C": [["d"]],
        "D": [["c", "b", "a"]],
    }
    assert holds(CHAIN)
    assert not holds(without(CHAIN, "D"))
    # Without A and C the disc is all that keeps a train from a out of d.
    assert holds(without(CHAIN, "A", "C"))
    assert not holds(without(CHAIN, "A", "B", "C"))
    # Without C the routes that ended there go on into d, and so keep it for the train.
    assert routes_of(without(CHAIN, "C"))["A"] == [["b"], ["b", "c", "d"]]
    assert holds(without(CHAIN, "C"))


def test_a_train_that_shunts_up_to_a_disc_is_held_there() -> None:
    main = ["A set-off down", "A take A b c", "A run b", "A run c"]
    with pytest.raises(ReplayError, match="have not met"):
        replay(CHAIN, movement("a", "d", *main))
    shunted = ["A set-off down", "A take A b", "A run b"]
    with pytest.raises(ReplayError, match="signal B holds it at b"):
        replay(CHAIN, movement("a", "d", *shunted, "A run c"))
    with pytest.raises(ReplayError, match="have not met"):
        replay(CHAIN, movement("a", "d", *shunted, "A take B c", "A run c"))
    with pytest.raises(ReplayError, match="occupied by the other"):
        replay(CHAIN, movement("a", "d", *shunted, "B set-off up", "B take D c b a"))


def test_a_place_past_a_disc_is_promised_with_the_main_route() -> None:
    plan = a_plan(
        {
            "w": "edge:w joint:1",
            "m": "joint:1 p.left",
            "bay": "buffer p.right",
            "e": "p.toe edge:e",
        },
        {"W": "w down", "M": "m down shunt", "Y": "bay down shunt", "E": "e up shunt"},
        points={"p": {"normal": "left"}},
    )
    assert routes_of(plan) == {
        "W": [["m", "p", "e"]],
        "M": [["p", "e"]],
        "Y": [["p", "e"]],
        "E": [["p", "bay"], ["p", "m", "w"]],
    }
    start = ["A set-off down", "A take W m p e", "A run m", "B set-off down"]
    with pytest.raises(ReplayError, match="promised to the other"):
        replay(plan, movement("w", "bay", *start, "B take Y p e"))
    assert holds(plan)
    to_the_end = [*start, "A run p", "A run e", "B run p", "B run e"]
    replay(without(plan, "Y"), movement("w", "bay", *to_the_end))
    with pytest.raises(ReplayError, match="signal Y holds it"):
        replay(plan, movement("w", "bay", *to_the_end))
    # While the points lie for the first train, the second does not come out of the bay at all.
    with pytest.raises(ReplayError, match="the other train needs p otherwise"):
        replay(without(plan, "Y"), movement("w", "bay", *start, "A run p", "B run p"))


def test_a_head_with_both_kinds_of_arms_has_a_route_of_each() -> None:
    line = {"w": "edge:w joint:1", "e": "joint:1 edge:e"}
    plan = a_plan(line, {"W": "w down both", "E": "e up shunt"})
    assert routes_of(plan) == {"W": [["e"], ["e"]], "E": [["w"]]}
    assert holds(plan)
    # A head with both kinds ends main routes and shunt routes alike.
    mid = {"w": "edge:w joint:1", "m": "joint:1 joint:2", "e": "joint:2 edge:e"}
    plan = a_plan(mid, {"W": "w down both", "M": "m down both", "E": "e up"})
    assert routes_of(plan) == {"W": [["m"], ["m"]], "M": [["e"], ["e"]], "E": [["m", "w"]]}


def test_shunt_arms_along_a_track_cut_it() -> None:
    plan = a_plan(
        {"k": "edge:w edge:e 900"},
        {"S": "k down 300", "D": "k down 600 shunt", "U": "k up 300", "V": "k up 600 shunt"},
    )
    assert routes_of(plan) == {
        "S": [["k.2", "k.3"]],
        "D": [["k.3"]],
        "U": [["k.1"]],
        "V": [["k.2"]],
    }
    assert holds(plan)
    assert not holds(without(plan, "V"))
    # No train turns back in k.2, so none comes to the disc that is not on its way to the end.
    assert holds(without(plan, "D"))
    plan["tracks"]["k"]["stand"] = True
    assert holds(plan)
    assert holds(without(plan, "D"))  # k.2 is a stub now
    assert not holds({**without(plan, "D"), "trains": {"t": {"length_mm": 300}}})


def test_a_main_route_round_a_ring_runs_past_a_disc_to_its_own_signal() -> None:
    # At the joint r.3 and r.1 are one section.
    ring = {"r": "joint:j joint:j 900 stand"}
    plan = a_plan(ring, {"D": "r down 300", "E": "r down 600 shunt"})
    assert routes_of(plan) == {"D": [["r.2", "r.1"]], "E": [["r.1"]]}
    # A signal at the joint, for no matter which trains, divides them.
    plan = a_plan(ring, {"D": "r down 300", "E": "r down 600 shunt", "F": "r up shunt"})
    assert routes_of(plan) == {
        "D": [["r.2", "r.3", "r.1"]],
        "E": [["r.3", "r.1"]],
        "F": [["r.3", "r.2", "r.1"]],
    }


def test_a_main_route_is_dropped_where_the_way_past_a_disc_needs_points_both_ways() -> None:
    plan = a_plan(
        {"lead": "edge:l p.toe", "loop": "p.left p.right"},
        {"L": "lead down both", "D": "loop down shunt", "U": "loop up shunt"},
        points={"p": {"normal": "left"}},
    )
    shunted = [["p", "loop"], ["p", "loop"]]
    assert routes_of(plan) == {"L": shunted, "D": [["p", "lead"]], "U": [["p", "lead"]]}
    plan["signals"]["D"]["arms"][0]["kind"] = "stop"
    assert routes_of(plan)["L"] == [["p", "loop"], *shunted]


def test_a_train_that_ends_its_main_route_at_a_disc_is_held_by_it() -> None:
    plan = a_plan(
        {
            "west": "edge:w p.left",
            "bay": "edge:b p.right",
            "m": "p.toe joint:m stand",
            "east": "joint:m edge:e",
        },
        {"W": "west down", "B": "bay down", "E": "east up", "U": "m up shunt", "D": "m down shunt"},
        points={"p": {"normal": "left"}},
    )
    assert holds(plan)
    start = ["A set-off down", "A take W p m east", "A run p", "A run m"]
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement("west", "bay", *start, "A run east"))
    with pytest.raises(ReplayError, match="signal D holds it"):
        replay(plan, movement("west", "bay", *start, "A set-off down", "A run east"))
    turned = movement("west", "bay", *start, "A set-off up", "A run p", "A run bay")
    with pytest.raises(ReplayError, match="signal U holds it"):
        replay(plan, turned)
    replay(without(plan, "U"), turned)
    assert not holds(without(plan, "U"))
    assert not holds(without(plan, "D"))


def test_the_border_of_a_yard_is_held_by_shunt_arms_too() -> None:
    tracks = {
        "line": "edge:l joint:1",
        "mid": "joint:1 joint:2",
        "neck": "joint:2 p.toe 900",
        "one": "p.left buffer",
        "two": "p.right buffer",
    }
    yard = {
        "points": {"p": {"normal": "left"}},
        "yards": {"y": {"tracks": ["neck", "one", "two"], "points": ["p"]}},
    }
    outside = {"L": "line down shunt", "M": "mid up shunt"}
    main = a_plan(tracks, {**outside, "Y": "neck up"}, **yard)
    assert routes_of(main) == {"L": [["mid", "y"]], "M": [["line"]], "Y": [["mid", "line"]]}
    assert holds(main)
    disc = a_plan(tracks, {**outside, "Y": "neck up shunt"}, **yard)
    assert routes_of(disc) == {"L": [["mid", "y"]], "M": [["line"]], "Y": [["mid"]]}
    assert holds(disc)
    out = movement("line", "y", "B set-off", "B run mid", "B run line")
    with pytest.raises(ReplayError, match="signal Y holds it at y"):
        replay(disc, out)
    with pytest.raises(ReplayError, match="signal M holds it at mid"):
        replay(without(disc, "Y"), out)
    replay(without(disc, "Y", "M"), out)
    assert holds(without(disc, "M"))
    # Only the signal nearer to the border of the yard counts, with any arms.
    two = {**outside, "far": "neck up 600", "near": "neck up 200 shunt"}
    routes = routes_of(a_plan(tracks, two, **yard))
    assert (routes["far"], routes["near"]) == ([], [["mid"]])
    two = {**outside, "far": "neck up 600 shunt", "near": "neck up 200"}
    routes = routes_of(a_plan(tracks, two, **yard))
    assert (routes["far"], routes["near"]) == ([], [["mid", "line"]])


def test_discs_in_place_of_signals_do_not_mend_a_stand_that_is_not_held() -> None:
    signals = {"W": "west down", "U": "s up", "Z": "z down", "E": "east up", "Qd": "q down",
               "Q": "q2 up"}  # fmt: skip
    discs = {signal: f"{text} shunt" for signal, text in signals.items()}
    plan = {**DECEIVED, "signals": a_plan({}, discs)["signals"]}
    assert not holds(plan)
    replay(plan, DECEIVED_MOVEMENT)
    # With Z alone a disc, the route of W runs past it, and the train is promised east as well.
    one_disc = {**DECEIVED, "signals": a_plan({}, {**signals, "Z": "z down shunt"})["signals"]}
    assert routes_of(one_disc)["W"] == [["s", "p", "q"], ["s", "p", "z", "east"]]
    assert not holds(one_disc)
    with pytest.raises(ReplayError, match="no route over"):
        replay(one_disc, DECEIVED_MOVEMENT)
    held = {**signals, "S": "s down shunt"}
    assert holds({**DECEIVED, "signals": a_plan({}, held)["signals"]})
    assert holds({**DECEIVED, "signals": a_plan({}, {**discs, **held})["signals"]})
