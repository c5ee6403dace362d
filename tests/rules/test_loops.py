"""Loops without a signal inside: the findings on the signal before them and on their tracks."""

from __future__ import annotations

import json
from typing import Any

import pytest

from oracle.cases import a_plan
from trappoint import check
from trappoint.core.findings import Finding

CUT_OFF = "Correct its ends, the `running` here and on the tracks beside it"


def points(*names: str) -> dict[str, Any]:
    return {name: {"normal": "left"} for name in names}


BALLOON = a_plan(
    {"line": "edge:w p.toe", "loop": "p.left p.right"}, {"1": "line down"}, points=points("p")
)
"""A loop from one leg of points to the other."""

LASSO = a_plan(
    {"line": "edge:w p.right", "loop": "p.toe p.left"}, {"1": "line down"}, points=points("p")
)
"""A loop from the toe of points back to one leg: trains run round it one way only."""

TRIANGLE = a_plan(
    {
        "line": "edge:w c.toe",
        "left": "c.left a.right",
        "right": "c.right b.left",
        "base": "a.left b.right",
        "west": "a.toe edge:a",
        "east": "b.toe edge:b",
    },
    {"1": "line down"},
    points=points("a", "b", "c"),
)
"""A triangle with a line at each corner."""

CLOSED = a_plan(
    {
        "line": "edge:w c.toe",
        "left": "c.left a.right",
        "right": "c.right b.left",
        "base": "a.left b.right",
        "round": "a.toe b.toe",
    },
    {"1": "line down"},
    points=points("a", "b", "c"),
)
"""A triangle with one track between two of its corners."""


def findings(plan: Any, *rules: str) -> list[Finding]:
    return [each for each in check(json.dumps(plan)).findings if each.rule in rules]


@pytest.mark.parametrize(
    ("plan", "way", "fix"),
    [
        (
            BALLOON,
            "from line, down towards p.toe, all ways lead round over loop and back to p.",
            "for down trains on loop, at its down end, or for up trains on loop, at its up end.",
        ),
        (
            LASSO,
            "from line, down towards p.right, all ways lead round over loop and back to p.",
            "for down trains on loop, at its down end.",
        ),
        (
            CLOSED,
            "from line, down towards c.toe, all ways lead round over left, round and right and "
            "back to c.",
            "for down trains on round, at its down end, or for up trains on round, at its up end.",
        ),
    ],
    ids=["balloon", "lasso", "triangle"],
)
def test_a_loop_needs_a_signal_of_its_own(plan: Any, way: str, fix: str) -> None:
    (signal,) = findings(plan, "signal-without-route")
    assert signal.pointer == "/signals/1"
    assert signal.message == f"Signal 1 has no route: {way}"
    assert signal.fix == f"Put a stop signal in the loop: {fix}"
    tracks = findings(plan, "unreachable-track")
    assert [each.path for each in tracks] == [(name,) for name in plan["tracks"] if name != "line"]
    assert {each.fix for each in tracks} == {signal.fix}


@pytest.mark.parametrize(("plan", "loop"), [(BALLOON, "loop"), (LASSO, "loop"), (CLOSED, "round")])
def test_with_a_signal_in_it_a_loop_is_reached(plan: Any, loop: str) -> None:
    arms = {"form": "disc", "arms": [{"id": "2"}]}
    inside = {"2": {"track": loop, "for": "down", **arms}}
    signalled = {**plan, "signals": {**plan["signals"], **inside}}
    assert findings(signalled, "signal-without-route", "unreachable-track") == []
    assert check(json.dumps(signalled)).holds


def test_a_triangle_that_leads_on_is_no_loop() -> None:
    assert findings(TRIANGLE, "signal-without-route", "unreachable-track") == []


def test_a_track_cut_off_by_running_needs_no_signal_in_a_loop() -> None:
    one_way = {**TRIANGLE["tracks"]["left"], "running": "up"}
    east_only = {**TRIANGLE["tracks"]["west"], "running": "up"}
    base = {**TRIANGLE["tracks"]["base"], "running": "up"}
    tracks = {**TRIANGLE["tracks"], "left": one_way, "west": east_only, "base": base}
    tracks["line"] = {**tracks["line"], "up": "buffer"}
    tracks["west"] = {**tracks["west"], "down": "buffer", "stand": False}
    found = findings({**TRIANGLE, "tracks": tracks}, "unreachable-track")
    assert found
    assert all(each.fix.startswith(CUT_OFF) for each in found)


def test_a_signal_before_a_loop_needs_one_in_it() -> None:
    plan = {**BALLOON, "signals": {}}
    (exit_,) = findings(plan, "unheld-exit")
    assert exit_.fix == (
        "Put a stop signal for down trains on line, at its down end, and one for down trains on "
        "loop, at its down end, or for up trains on loop, at its up end: all ways beyond lead "
        "round over loop and back to p."
    )


def test_a_loop_with_running_one_way_has_one_site() -> None:
    loop = {**BALLOON["tracks"]["loop"], "running": "up"}
    plan = {**BALLOON, "tracks": {**BALLOON["tracks"], "loop": loop}}
    (signal,) = findings(plan, "signal-without-route")
    assert signal.fix.endswith("in the loop: for up trains on loop, at its up end.")
