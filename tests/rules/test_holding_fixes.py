"""Tests of the fixes for unheld exits at yards and trap points."""

from __future__ import annotations

import json
from typing import Any

from oracle.cases import FOLLOWED, a_plan, trapped
from trappoint import check
from trappoint.core.findings import Finding


def unheld(plan: Any, pointer: str) -> Finding:
    found = [each for each in check(json.dumps(plan)).findings if each.rule == "unheld-exit"]
    return next(each for each in found if each.pointer == pointer)


def yard(tracks: list[str], *points: str) -> dict[str, Any]:
    """Return a line with points `t`, and beyond `y` two sidings that are a yard."""
    return a_plan(
        {
            "west": "edge:w t.left",
            "east": "t.toe edge:e",
            "lead": "t.right y.toe 900",
            "one": "y.left buffer",
            "two": "y.right buffer",
        },
        {"W": "west down", "E": "east up"},
        points={"t": {"normal": "left"}, "y": {"normal": "left"}},
        yards={"goods": {"tracks": tracks, "points": list(points)}},
    )


def test_each_way_out_of_a_yard_is_named() -> None:
    plan = yard(["lead", "one", "two"], "y")
    assert unheld(plan, "/yards/goods").fix == (
        "Put a stop signal for up trains on lead, at its up end."
    )


def test_points_with_all_their_legs_in_a_yard_may_belong_to_it() -> None:
    plan = yard(["lead", "one", "two"])
    plan["signals"]["L"] = {"track": "lead", "for": "up", "arms": [{"id": "L"}]}
    assert unheld(plan, "/yards/goods").fix == (
        "Put a stop signal for down trains on lead, at its down end, and one for up trains on "
        "one, at its up end, and one for up trains on two, at its up end; or, if y belongs to "
        "yard goods, list it there."
    )


def test_a_yard_grows_if_no_signal_can_stand_at_its_end() -> None:
    plan = yard(["one", "two"], "y")
    assert unheld(plan, "/yards/goods").fix == (
        "List lead in yard goods (or divide it at a joint and list the part at y), and put a stop "
        "signal for up trains at its far end: no signal can stand between lead and y."
    )


def test_a_track_between_two_ends_of_a_yard_belongs_to_it() -> None:
    plan = yard(["lead", "one"], "y")
    plan["signals"]["L"] = {"track": "lead", "for": "up", "arms": [{"id": "L"}]}
    plan["tracks"]["two"]["down"] = "z.left"
    plan["tracks"] |= {"three": {"up": "z.right", "down": "buffer"}}
    plan["tracks"] |= {"spur": {"up": "buffer", "down": "z.toe"}}
    plan["points"]["z"] = {"normal": "left"}
    plan["yards"]["goods"] = {"tracks": ["lead", "one", "three", "spur"], "points": ["y", "z"]}
    assert unheld(plan, "/yards/goods").fix == (
        "List two in yard goods: no signal can stand between it and z."
    )


def test_trap_points_that_do_not_guard_are_named() -> None:
    """A route leads on past the stand before the trap: a train may still be in that stand."""
    assert unheld(FOLLOWED, "/tracks/s/down").fix == (
        "Put a stop signal for down trains on s, at its down end. (Trap points q do not hold this "
        "train: the route from shed over s, lead and far to end needs them reverse while a train "
        "may be in s.)"
    )


def test_trap_points_that_guard_hold_trains() -> None:
    assert check(json.dumps(trapped())).holds
