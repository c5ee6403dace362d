"""Edges, turning back, and the lies of points in the game, on small plans worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest

from oracle.cases import FOLLOWED, HELD_REVERSE, a_plan, movement, runs, trapped, without
from oracle.ground import Ground
from oracle.two_trains import ReplayError, holds, meeting, replay, routes_of, stands_of

# ---- edges -------------------------------------------------------------------------------------


@pytest.mark.parametrize("stand", ["", " pass"])
def test_a_second_train_from_one_edge_runs_into_the_first(stand: str) -> None:
    tracks = {"line": f"edge:w joint:j{stand}", "bay": "joint:j buffer pass"}
    plan = a_plan(tracks, {"B": "bay up"})
    first = ["A come-on w line", "A run bay"]
    second = ["B come-on w line", "B run bay"]
    replay(plan, movement(None, None, *first, *second))
    assert not holds(plan)
    plan = a_plan(tracks, {"B": "bay up", "L": "line down"})
    with pytest.raises(ReplayError, match="step 2, train A: signal L holds it"):
        replay(plan, movement(None, None, *first, *second))
    with pytest.raises(ReplayError, match="line is occupied by the other"):
        replay(plan, movement(None, None, "A come-on w line", "B come-on w line"))
    assert holds(plan)


def test_the_shortest_movement_from_outside() -> None:
    plan = a_plan({"line": "edge:w joint:j pass", "bay": "joint:j buffer pass"}, {"B": "bay up"})
    assert stands_of(plan) == []
    found = meeting(plan)
    assert found is not None
    assert found["starts"] == {"A": None, "B": None}
    assert [each["do"] for each in found["steps"]] == ["come-on", "run", "come-on", "run"]
    replay(plan, found)


def test_no_train_comes_on_to_what_is_promised_or_against_the_running() -> None:
    tracks = {"line": "edge:w joint:j", "far": "joint:j buffer"}
    plan = a_plan(tracks, {"L": "line down", "F": "far up"})
    leaves = ["A set-off up", "A take F line"]
    with pytest.raises(ReplayError, match="line is promised to the other"):
        replay(plan, movement("far", None, *leaves, "B come-on w line"))
    one_way = a_plan({**tracks, "line": "edge:w joint:j up"}, {"F": "far up"})
    with pytest.raises(ReplayError, match="no train comes on at w to line"):
        replay(one_way, movement("far", None, "B come-on w line"))


def test_a_train_leaves_at_the_edge_before_it_and_nowhere_else() -> None:
    plan = a_plan({"line": "edge:w joint:j", "far": "joint:j buffer"}, {"L": "line down"})
    with pytest.raises(ReplayError, match="no heading yet"):
        replay(plan, movement("line", None, "A leave"))
    with pytest.raises(ReplayError, match="cannot leave the plan from line"):
        replay(plan, movement("line", None, "A set-off down", "A leave"))
    gone = ["A set-off up", "A leave"]
    with pytest.raises(ReplayError, match="step 3, train A: it is outside"):
        replay(plan, movement("line", None, *gone, "A run far"))
    # It may come on again.
    replay(plan, movement("line", "far", *gone, "B set-off up", "B run line", "B leave",
                          "A come-on w line", "A take L far", "A run far", "B come-on w line",
                          "A set-off up", "A run line"))  # fmt: skip
    # A signal at the edge keeps it in.
    held = a_plan({}, {"L": "line down", "X": "line up"})["signals"]
    with pytest.raises(ReplayError, match="cannot leave"):
        replay({**plan, "signals": held}, movement("line", None, *gone))


def test_a_train_with_a_way_promised_does_not_come_on_twice() -> None:
    plan = a_plan({"line": "edge:w joint:j", "far": "joint:j buffer"}, {"L": "line down"})
    with pytest.raises(ReplayError, match="on the plan already"):
        replay(plan, movement("far", None, "A come-on w line"))


# ---- lies --------------------------------------------------------------------------------------


def crossover(worked_together: bool = True) -> Any:
    """Two lines from stands on the left to edges on the right, and a crossover between them."""
    more: dict[str, Any] = {"worked_together": [["p", "q"]]} if worked_together else {}
    return a_plan(
        {
            "aw": "buffer p.toe",
            "ae": "p.left edge:ae",
            "bw": "buffer q.left",
            "be": "q.toe edge:be",
            "x": "p.right q.right",
        },
        {"A": "aw down", "B": "bw down", "AE": "ae up", "BE": "be up"},
        points={"p": {"normal": "left"}, "q": {"normal": "left"}},
        **more,
    )


def test_the_points_of_a_promise_are_not_moved_for_a_train_that_runs_free() -> None:
    plan = without(crossover(), "B")
    # A runs over the crossover; B cannot run out of bw while it has its way, worked together or
    # not. As soon as A is at the end, it can.
    for each in (plan, without(crossover(worked_together=False), "B")):
        way = ["A set-off down", "A take A p x q be", *runs("A", "p", "x", "q")]
        out = ["B set-off down", "B run q"]
        with pytest.raises(ReplayError, match=r"the other train needs (p|q) otherwise"):
            replay(each, movement("aw", "bw", *way[:2], *out))
        replay(each, movement("aw", "bw", *way, "A run be", *out, "B run be"))
    # While A has its way straight on, q lies normal too, and B runs free beside it.
    beside = ["A set-off down", "A take A p ae", "B set-off down", "B run q", "B run be"]
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement("aw", "bw", *beside))


def test_points_under_a_train_are_not_moved_nor_those_worked_with_them() -> None:
    plan = without(crossover(), "B")
    on = ["B set-off down", "B run q", "A set-off down"]
    with pytest.raises(ReplayError, match="q is occupied by"):
        replay(plan, movement("aw", "bw", *on, "A take A p x q be"))
    # Points apart from it all, but on the same lever.
    plan["tracks"] |= {
        "sw": {"up": "buffer", "down": "s.toe"},
        "sl": {"up": "s.left", "down": "buffer"},
        "sr": {"up": "s.right", "down": "buffer"},
    }
    plan["points"]["s"] = {"normal": "right"}
    plan["signals"]["S"] = {"track": "sw", "for": "down", "arms": [{"id": "S"}]}
    plan["worked_together"] = [["q", "s"]]
    shunt = movement("sw", "bw", *on, "A take S s sl")
    with pytest.raises(ReplayError, match="the other train needs q otherwise"):
        replay(plan, shunt)
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement("sw", "bw", *on, "A take S s sr"))
    # Nor for a train that runs free.
    free = without(plan, "S")
    with pytest.raises(ReplayError, match="have not met"):
        replay(free, movement("sw", "bw", *on, "A run s", "A run sr"))
    with pytest.raises(ReplayError, match="no move leads from s to sl"):
        replay(free, movement("sw", "bw", *on, "A run s", "A run sl"))


def test_a_train_that_runs_free_chooses_its_way_as_it_enters_points() -> None:
    plan = without(crossover(), "A", "B")
    # With A on p for the left leg, q lies normal. On p for the crossover, q is reverse.
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement("aw", "bw", "A set-off down", "A run p", "B set-off down", "B run q"))
    to_x = ["A set-off down", "A run p", "B set-off down", "B run q", "A run x"]
    with pytest.raises(ReplayError, match="no move leads from p to x"):
        replay(plan, movement("aw", "bw", *to_x))
    # The other way about: on the crossover A has left p, and q is free to be moved for B.
    into = ["A set-off down", "A run p", "A run x", "B set-off down", "B run q", "A run q"]
    with pytest.raises(ReplayError, match="the other train needs p otherwise"):
        replay(plan, movement("aw", "bw", *into))


def test_slips_have_lies_too() -> None:
    plan = a_plan(
        {
            "aw": "buffer x.a1",
            "ae": "x.a2 buffer pass",
            "bw": "buffer x.b1 pass",
            "be": "x.b2 edge:be pass",
            "sw": "buffer s.toe",
            "sl": "s.left buffer pass",
            "sr": "s.right buffer pass",
        },
        points={"s": {"normal": "left"}},
        crossings={"x": {"kind": "single-slip"}},
        worked_together=[["s", "x"]],
    )
    on = ["A set-off down", "A run x", "B set-off down", "B run s"]
    for way, leg in (("ae", "sl"), ("be", "sr")):
        with pytest.raises(ReplayError, match="have not met"):
            replay(plan, movement("aw", "sw", *on, f"B run {leg}", f"A run {way}"))
    for way, leg in (("ae", "sr"), ("be", "sl")):
        with pytest.raises(ReplayError, match="no move leads"):
            replay(plan, movement("aw", "sw", *on, f"B run {leg}", f"A run {way}"))


def test_points_are_not_entered_for_a_way_that_running_forbids() -> None:
    plan = a_plan(
        {
            "w": "buffer p.toe",
            "l": "p.left edge:l up",
            "r": "p.right buffer pass",
            "sw": "buffer s.toe",
            "sl": "s.left buffer pass",
            "sr": "s.right buffer pass",
        },
        {"S": "sw down"},
        points={"p": {"normal": "left"}, "s": {"normal": "left"}},
        worked_together=[["p", "s"]],
    )
    with pytest.raises(ReplayError, match="no move leads from p to l"):
        replay(plan, movement("w", None, "A set-off down", "A run p", "A run l"))
    # While the points lie left for the other train there is no way through for it.
    way = ["B set-off down", "B take S s sl", "A set-off down", "A run p"]
    with pytest.raises(ReplayError, match="the other train needs p otherwise"):
        replay(plan, movement("w", "sw", *way))


# ---- turning back ------------------------------------------------------------------------------


def test_a_train_that_turns_back_in_a_stand_gives_back_what_is_promised() -> None:
    plan = a_plan(
        {
            "west": "edge:w p.left",
            "bay": "edge:b p.right",
            "m": "p.toe joint:m stand",
            "east": "joint:m edge:e",
        },
        {"W": "west down", "B": "bay down", "E": "east up", "U": "m up", "M": "m down shunt"},
        points={"p": {"normal": "left"}},
    )
    way = ["A set-off down", "A take W p m east", *runs("A", "p", "m")]
    with pytest.raises(ReplayError, match="east is promised to the other"):
        replay(plan, movement("west", None, *way, "B come-on e east"))
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement("west", None, *way, "A set-off up", "B come-on e east"))
    # The lies are given back too.
    out = ["A set-off up", "A take U p bay", "A run p", "A run bay"]
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement("west", None, *way, *out))
    assert holds(plan)


# ---- trap points -------------------------------------------------------------------------------


@pytest.mark.parametrize("together", [False, True])
def test_a_siding_behind_trap_points_holds_without_a_signal(together: bool) -> None:
    plan = trapped(together=together)
    assert stands_of(plan) == ["e", "siding", "w"]
    assert routes_of(plan) == {"W": [["p", "e"]], "E": [["p", "lead", "q", "siding"], ["p", "w"]]}
    assert holds(plan)
    # A train that sets off runs into the drag, and takes no further part.
    stray = ["A set-off down", "A run q", "A run drag"]
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement("siding", "e", *stray))
    with pytest.raises(ReplayError, match="step 4, train A: it is off the line"):
        replay(plan, movement("siding", "e", *stray, "A run q"))
    with pytest.raises(ReplayError, match="no move leads from q to lead"):
        replay(plan, movement("siding", "e", "A set-off down", "A run q", "A run lead"))


def test_a_siding_is_not_held_by_points_that_are_no_trap_or_lie_for_the_line() -> None:
    out = ["A set-off down", *runs("A", "q", "lead", "p", "e")]
    for plan in (trapped(trap=False), trapped(normal="right")):
        replay(plan, movement("siding", "e", *out))
        assert not holds(plan)
    replay(trapped(trap=False, together=True), movement("siding", "e", *out))


def test_points_worked_with_a_trap_are_run_through_from_a_leg() -> None:
    # Normal is right for the trap and left for the line, so a stray comes as far as the lead.
    # From there it runs through the points of the line, which it meets from a leg.
    plan = trapped(normal="right", together=True)
    assert routes_of(plan) == {"W": [["p", "e"]], "E": [["p", "w"]]}
    assert Ground(plan).guards == {"p"}
    stray = ["A set-off down", *runs("A", "q", "lead", "p", "e")]
    replay(plan, movement("siding", "e", *stray))
    assert not holds(plan)
    # Not while the way of the other needs the points otherwise.
    way = ["B set-off up", "B take E p w", *stray]
    with pytest.raises(ReplayError, match="step 6, train A: the other train needs p otherwise"):
        replay(plan, movement("siding", "e", *way))


def test_a_train_sent_into_a_drag_is_off_the_line() -> None:
    plan = trapped()
    plan["signals"]["S"] = {"track": "siding", "for": "down", "arms": [{"id": "S"}]}
    assert routes_of(plan)["S"] == [["q", "drag"], ["q", "lead", "p", "e"]]
    sent = ["A set-off down", "A take S q drag", "A run q", "A run drag"]
    with pytest.raises(ReplayError, match="step 5, train A: it is off the line"):
        replay(plan, movement("siding", None, *sent, "A set-off up"))
    # The derailed train has no claims.
    again = ["B come-on e e", "B take E p lead q siding", *runs("B", "p", "lead", "q", "siding")]
    then = ["B set-off down", "B take S q drag", "B run q", "B run drag"]
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement("siding", None, *sent, *again, *then))


def test_what_is_no_drag_keeps_no_train_from_another() -> None:
    # A stand is no drag, nor is a track that ends at an edge.
    for end in ("buffer stand", "edge:d pass"):
        plan = trapped()
        plan["tracks"] |= a_plan({"drag": f"q.left {end}"})["tracks"]
        stray = ["A set-off down", *runs("A", "q", "drag")]
        if "stand" in end:
            replay(plan, movement("siding", "drag", *stray))
        else:
            replay(plan, movement("siding", None, "B come-on d drag", *stray))


def test_trap_points_in_a_line_are_no_drag_from_their_toe() -> None:
    plan = a_plan(
        {
            "w": "edge:w q.left",
            "other": "buffer q.right",
            "end": "q.toe buffer pass",
        },
        {"O": "other down", "E": "end up"},
        points={"q": {"normal": "left", "trap": True}},
    )
    on = ["A come-on w w", *runs("A", "q", "end")]
    again = ["B come-on w w", *runs("B", "q", "end")]
    replay(plan, movement(None, None, *on, *again))


def test_a_train_follows_another_out_of_a_stand_behind_trap_points_that_do_not_guard() -> None:
    # A has a way from the shed through the stand to the end, so the trap is reverse. B has one
    # through the stand to the spur: it shares no place with what is left of the way of A, needs
    # the trap to lie alike, and passes all ends in the same direction. In the stand it sets off
    # again and has nothing promised; the trap still lies for A, and so for B.
    first = ["A come-on x shed", "A take X s q lead t far end", *runs("A", "s", "q", "lead", "t")]
    second = ["B come-on x shed", "B take X s q lead t spur", "B run s", "B set-off down"]
    after = runs("B", "q", "lead", "t", "far")
    replay(FOLLOWED, movement(None, None, *first, "A run far", *second, *after))
    assert not holds(FOLLOWED)
    with pytest.raises(ReplayError, match="t is occupied by"):
        replay(FOLLOWED, movement(None, None, *first, *second))
    # So nobody relies on the trap: B comes out where A is at the end, and nobody has it reverse.
    arrived = [*first, "A run far", "A run end"]
    replay(FOLLOWED, movement(None, None, *arrived, *second, *after, "B run end"))
    assert meeting(FOLLOWED) == movement("s", "end", "A set-off down",
                                         *runs("A", "q", "lead", "t", "far", "end"))  # fmt: skip
    # A signal in the stand holds the second train, and the plan.
    held = {"track": "s", "for": "down", "arms": [{"id": "D"}]}
    assert holds({**FOLLOWED, "signals": {**FOLLOWED["signals"], "D": held}})


def test_without_a_second_way_through_the_stand_no_train_follows() -> None:
    tracks = {key: value for key, value in FOLLOWED["tracks"].items() if key != "spur"}
    plan = {**FOLLOWED, "tracks": tracks, "turntables": {"t": {"roads": ["1", "2"]}}}
    assert routes_of(plan)["X"] == [["s", "q", "drag"], ["s", "q", "lead", "t", "far", "end"]]
    assert holds(plan)
    # The trap guards: it lies normal for a train that runs freely, with any route of the other.
    first = ["A come-on x shed", "A take X s q lead t far end", "A run s", "A set-off down"]
    with pytest.raises(ReplayError, match="no move leads from q to lead"):
        replay(plan, movement(None, None, *first, "A run q", "A run lead"))


def test_trap_points_that_do_not_guard_lie_as_the_other_train_needs_them() -> None:
    # One lever works the trap and the points of another road. Nobody has the trap normal for
    # the train in the siding, unless the way of the other needs it so.
    out = ["A set-off down", "A run q", "A run bay"]
    replay(HELD_REVERSE, movement("siding", "bay", *out))
    assert not holds(HELD_REVERSE)
    needs = {"left": "B take L s left", "right": "B take L s right"}
    for way, refusal in (("left", "no move leads from q to bay"), ("right", "have not met")):
        with pytest.raises(ReplayError, match=refusal):
            replay(HELD_REVERSE, movement("siding", "line", "B set-off down", needs[way], *out))
    # As it lies under the other, too: B is on s for the right, or else for the left.
    free = without(HELD_REVERSE, "L")
    under = ["B set-off down", "B run s", *out]
    with pytest.raises(ReplayError, match="have not met"):
        replay(free, movement("siding", "line", *under, "B run right"))
    with pytest.raises(ReplayError, match="no move leads from s to left"):
        replay(free, movement("siding", "line", *under, "B run left"))
