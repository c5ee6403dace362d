"""Small plans with a verdict worked out by hand, from the ground alone and without a table.

``test_verdict`` compares the library with them.
"""

from __future__ import annotations

import json
from itertools import combinations
from typing import Any

import pytest

from oracle.cases import a_plan, movement, without
from proof.hand import (
    BACK_TO_BACK,
    BRANCH,
    CASES,
    KEPT_TRAP,
    LEVERED,
    NEIGHBOUR_HOLDS,
    WITH_ITS_POINTS,
    YARD,
)
from proof.movement import NoMovementError, follow, tell
from proof.plans import EXAMPLES
from proof.printed import NO_TABLE, Printed
from proof.prover import prove
from proof.roads import Roads
from proof.routes import conflict, routes
from proof.system import AT_REST, COMES_ON, OUTSIDE, State, System


def ground(plan: Any) -> System:
    return System(Printed(Roads(plan), NO_TABLE))


@pytest.mark.parametrize(("plan", "holds"), CASES.values(), ids=CASES)
def test_verdict(plan: Any, holds: bool) -> None:
    system = ground(plan)
    proof = prove(system)
    assert proof.holds is holds
    if proof.run is not None:
        follow(system.roads, tell(system, proof.run))


def kelpie() -> Any:
    return json.loads((EXAMPLES / "kelpie-quay.layout.json").read_text("utf-8"))


def test_kelpie_quay_needs_each_of_its_signals() -> None:
    assert prove(ground(kelpie())).holds
    for signal in kelpie()["signals"]:
        assert not prove(ground(without(kelpie(), signal))).holds, signal


def test_kelpie_quay_has_ten_routes_and_twenty_conflicts() -> None:
    roads = Roads(kelpie())
    found = list(routes(roads))
    assert len(found) == 10
    assert sum(conflict(roads, *pair) for pair in combinations(found, 2)) == 20


# ---- places


def test_only_what_a_bare_joint_divides_is_one_section() -> None:
    plan = a_plan(
        {
            "b": "joint:1 joint:2",
            "a": "edge:e joint:1",
            "c": "joint:3 joint:2",
            "d": "joint:3 buffer down",
            "e": "joint:4 joint:5",
            "f": "joint:5 joint:4",
        },
        {"C": "c up"},
    )
    pieces = Roads(plan).pieces
    assert {name: [p.name for p, _ in s.chain] for name, s in pieces.sections.items()} == {
        "b": ["a", "b", "c"],  # with the name and direction of its first track in the plan
        "d": ["d"],  # no bare joint, and one way only
        "e": ["e", "f"],
    }
    b, e = pieces.sections["b"], pieces.sections["e"]
    assert [turned for _, turned in b.chain] == [False, False, True]
    assert e.is_ring
    facing = pieces.facing(b, "down")
    assert facing is not None
    assert facing.signal == "C"
    assert pieces.stands == {"b": ("down", "up"), "d": ("down",)}


def test_a_yard_ends_at_its_exit_head() -> None:
    pieces = Roads(YARD).pieces
    assert list(pieces.sections) == ["line", "y.1"]
    assert pieces.inside == {"y.2": "goods"}
    assert {where: head.signal for where, head in pieces.facing_piece.items()} == {
        ("line", "down"): "H",
        ("y.2", "up"): "Y",
    }  # Z is deep in the yard


def test_a_section_from_which_running_lets_no_train_on_has_a_limit() -> None:
    plan = a_plan(
        {
            "w": "edge:w p.toe",
            "main": "p.left joint:j",
            "ext": "joint:j edge:e up",
            "bay": "p.right buffer",
        },
        {"W": "w down"},
        points={"p": {"normal": "left"}},
    )
    found = {route.ends_at: [place for place, _ in route.path] for route in routes(Roads(plan))}
    assert found == {"main": ["p", "main"], "bay": ["p", "bay"]}


def test_no_element_is_entered_that_lets_no_train_out() -> None:
    plan = a_plan(
        {"w": "edge:w p.left", "x": "p.toe edge:x up", "y": "p.right buffer"},
        {"W": "w down"},
        points={"p": {"normal": "left"}},
    )
    assert list(routes(Roads(plan))) == []
    assert Roads(plan).gates["w", "down"][0].ways == ()


def test_a_trap_guards_unless_a_route_opens_it_behind_a_train() -> None:
    assert ground(KEPT_TRAP).guards == {"t": "left"}
    assert ground(WITH_ITS_POINTS).guards == {"t": "normal"}
    assert ground(LEVERED).guards == {}


def test_a_drag_ends_at_a_buffer_and_is_no_stand() -> None:
    assert Roads(KEPT_TRAP).drags == {"drag"}
    no_drag = {**KEPT_TRAP, "tracks": {**KEPT_TRAP["tracks"]}}
    no_drag["tracks"]["drag"] = {"up": "t.left", "down": "buffer"}
    assert Roads(no_drag).drags == set()


def test_beyond_a_held_edge_lies_a_piece_with_a_signal() -> None:
    roads = Roads(NEIGHBOUR_HOLDS)
    assert list(roads.pieces.sections) == ["w", "a", "b", "edge:w", "edge:a", "edge:b"]
    assert list(roads.stands) == ["edge:w", "edge:a", "edge:b"]
    assert roads.edges == [
        ("w", ("edge:w", "down")),
        ("a", ("edge:a", "up")),
        ("b", ("edge:b", "up")),
    ]
    found = [(r.head.signal, [place for place, _ in r.path], r.ends_at) for r in routes(roads)]
    assert found == [
        ("edge:w", ["w", "p", "a", "edge:a"], "a"),  # named by the plan's own tracks
        ("edge:w", ["w", "p", "b", "edge:b"], "b"),
        ("edge:a", ["a", "p", "w", "edge:w"], "w"),
        ("edge:b", ["b", "p", "w", "edge:w"], "w"),
    ]


# ---- routes


def test_back_to_back_signals_are_opposed() -> None:
    roads = Roads(BACK_TO_BACK)
    one, other = routes(roads)
    assert not one.places & other.places
    assert conflict(roads, one, other)


def test_a_shunt_route_along_a_stop_route_does_not_conflict_with_it() -> None:
    roads = Roads(BRANCH)
    found = {(r.head.signal, r.ends_at): r for r in routes(roads)}
    assert found.keys() == {("W", "e"), ("W", "bay"), ("S", "e"), ("S", "bay")}
    assert not conflict(roads, found["W", "e"], found["S", "e"])
    assert conflict(roads, found["W", "e"], found["S", "bay"])
    assert conflict(roads, found["W", "e"], found["W", "bay"])


# ---- what the trains may do


def number(system: System, state: State) -> int:
    return system.states.index(state)


def test_a_train_comes_on_where_nothing_is_kept() -> None:
    system = ground(BRANCH)
    coming = number(system, State(("w", "down"), COMES_ON))
    assert system.may(coming, number(system, OUTSIDE))
    assert system.may(coming, number(system, State(("e", "down"))))
    assert not system.may(coming, number(system, State(("w", "down"))))


def test_levers_lie_for_a_free_train_as_the_other_one_needs_them() -> None:
    system = ground(LEVERED)
    assert system.guards == {}
    reverse = number(system, State(("t", "toe"), AT_REST, "t", "right"))
    normal = number(system, State(("t", "toe"), AT_REST, "t", "left"))
    elsewhere = number(system, State(("u", "down")))
    assert (system.may(normal, elsewhere), system.may(reverse, elsewhere)) == (True, True)
    to_x = next(n for n, g in enumerate(system.grants) if g.route.ends_at == "x")
    promised = number(system, State(("u", "down"), to_x))
    assert (system.may(normal, promised), system.may(reverse, promised)) == (False, True)
    to_v = next(n for n, g in enumerate(system.grants) if g.route.ends_at == "v")
    assert system.may(number(system, State(("u", "down"), to_v)), normal)
    assert not system.may(promised, normal)  # the points lie under the stray


def test_what_is_run_off_may_be_promised_again_but_not_run_against() -> None:
    plan = a_plan(
        {
            "a": "edge:a joint:1",
            "b": "joint:1 joint:2",
            "d": "joint:2 joint:3",
            "e": "joint:3 edge:e",
        },
        {"A": "a down both", "S": "b down shunt", "D": "d up", "E": "e up"},
    )
    printed = Printed(Roads(plan), NO_TABLE)
    system, strict = System(printed), System(printed, strict=True)
    grants = {(g.route.head.signal, g.route.kind): n for n, g in enumerate(system.grants)}
    assert [set(system.grants[n].route.places) for n in grants.values()] == [
        {"b", "d", "e"}, {"b"}, {"d", "e"}, {"a", "b"}, {"d"},
    ]  # fmt: skip
    follows = State(("a", "down"), grants["A", "shunt"])
    back = State(("d", "up"), grants["D", "stop"])
    in_b, in_d = (State((place, "down"), grants["A", "stop"]) for place in "bd")
    arrived = State(("e", "down"))
    for wanted, other, may, may_strictly in (
        (follows, in_b, False, False),
        (follows, in_d, True, False),
        (follows, arrived, True, True),
        (back, in_d, False, False),  # over two joints against it
        (back, arrived, True, True),
    ):
        assert system.may(number(system, wanted), number(system, other)) is may
        assert strict.may(number(strict, wanted), number(strict, other)) is may_strictly


def test_a_movement_that_is_none_is_refused() -> None:
    plan = a_plan({"k": "edge:w edge:e"}, {"D": "k down 500"})
    roads = Roads(plan)
    follow(roads, movement("k.1", "k.2", "B set-off up", "B run k.1"))
    follow(roads, movement("k.2", None, "A set-off up", "B come-on w k.1", "A run k.1"))
    for wrong in (
        movement("k.1", "k.1", "B set-off up"),
        movement("k.1", "k.3", "B set-off up"),
        movement("k.1", "k.2", "B set-off up"),
        movement("k.1", "k.2", "B run k.1"),
        movement("k.1", "k.2", "A set-off down", "A run k.2"),
        movement("k.1", "k.2", "A set-off down", "A take D k.2"),
        movement("k.1", "k.2", "B set-off up", "B run k.1", "A set-off down"),
        movement("k.1", None, "B come-on w k.1"),
    ):
        with pytest.raises(NoMovementError):
            follow(roads, wrong)
