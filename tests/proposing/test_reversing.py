"""Reversing loops and traps: trains reach all track, and no signal is superfluous."""

from __future__ import annotations

import json
from typing import Any

import pytest

from oracle.cases import a_plan
from oracle.ground import Ground
from oracle.held_edges import spell_out
from oracle.two_trains import holds
from proposing.brute import reached
from trappoint.proposing.proposal import propose

Spots = set[tuple[str, str]]


def bare(tracks: dict[str, str], points: str, **more: Any) -> Any:
    """A plan without signals, whose points all lie normal to the left."""
    plan = a_plan(tracks, points={name: {"normal": "left"} for name in points.split()}, **more)
    return {key: value for key, value in plan.items() if key != "signals"}


BALLOON = bare({"line": "edge:w p.toe", "loop": "p.left p.right"}, "p")
BALLOON_OF_TWO = bare(
    {"line": "edge:w p.toe", "one": "p.left joint:j", "other": "joint:j p.right"}, "p"
)
TERMINUS = bare(
    {
        "road-1": "buffer q.left",
        "road-2": "buffer q.right",
        "line": "q.toe p.toe pass",
        "loop": "p.left p.right",
    },
    "p q",
    platforms={"1": {"tracks": ["road-1"]}, "2": {"tracks": ["road-2"]}},
)
TRIANGLE = bare(
    {
        "a": "edge:a pa.toe",
        "b": "edge:b pb.toe",
        "c": "edge:c pc.toe",
        "ab": "pa.left pb.right",
        "bc": "pb.left pc.right",
        "ca": "pc.left pa.right",
    },
    "pa pb pc",
)
TRIANGLE_WITH_A_SPUR = {
    **TRIANGLE,
    "tracks": {**TRIANGLE["tracks"], "c": {"up": "buffer", "down": "pc.toe"}},
}


def proposed(plan: Any, **asked: Any) -> tuple[Any, Spots]:
    draft = propose(json.dumps(plan), **asked).drafts[0]
    assert draft.least
    assert draft.report.holds
    after = json.loads(draft.text)
    assert holds(spell_out(after)[0])
    return after, {(reason.track, reason.heading) for reason in draft.reasons}


@pytest.mark.parametrize(
    "plan", [BALLOON, BALLOON_OF_TWO, TERMINUS, TRIANGLE, TRIANGLE_WITH_A_SPUR]
)
@pytest.mark.parametrize("level", ["least", "homes", "full"])
def test_trains_come_to_all_track(plan: Any, level: str) -> None:
    after, _ = proposed(plan, level=level)
    assert reached(Ground({"signals": {}, **after})) == set(plan["tracks"])


@pytest.mark.parametrize("plan", [BALLOON, BALLOON_OF_TWO, TERMINUS])
def test_a_loop_has_a_signal_of_its_own(plan: Any) -> None:
    """Without it no route ends in the loop: it would need the points both ways."""
    after, spots = proposed(plan)
    inside = [(track, heading) for track, heading in spots if track in ("loop", "one", "other")]
    assert len(inside) == 1
    (name,) = [n for n, s in after["signals"].items() if (s["track"], s["for"]) == inside[0]]
    without = {k: v for k, v in after["signals"].items() if k != name}
    assert reached(Ground({**after, "signals": without})) < set(plan["tracks"])


def test_a_loop_in_which_trains_stand_has_one_for_each_way_out() -> None:
    plan = {**BALLOON, "tracks": {**BALLOON["tracks"]}}
    plan["tracks"]["loop"] = {**plan["tracks"]["loop"], "stand": True}
    assert proposed(plan)[1] == {("line", "down"), ("loop", "down"), ("loop", "up")}


def test_a_triangle_needs_none_inside() -> None:
    """From each corner there is a route to both others."""
    for plan in (TRIANGLE, TRIANGLE_WITH_A_SPUR):
        assert proposed(plan)[1] == {("a", "down"), ("b", "down"), ("c", "down")}


def test_the_reason_is_told() -> None:
    reasons = propose(json.dumps(BALLOON)).drafts[0].reasons
    (inside,) = [reason for reason in reasons if reason.track == "loop"]
    assert inside.without == "the plan would hold, but no train can ever reach loop."


TRAPPED = bare(
    {
        "line": "edge:w p.toe",
        "main": "p.left buffer",
        "lead": "p.right t.left",
        "drag": "buffer t.right pass",
        "siding": "buffer t.toe stand",
    },
    "p",
    worked_together=[["p", "t"]],
)
TRAPPED["points"]["t"] = {"normal": "right", "trap": True}


def test_a_trapped_siding_needs_no_signal() -> None:
    """Its trap points are reversed for trains alone that come in, and end there."""
    _, spots = proposed(TRAPPED)
    assert spots == {("line", "down"), ("main", "up")}


def test_without_trap_points_it_needs_one() -> None:
    points = {"p": {"normal": "left"}, "t": {"normal": "right"}}
    assert ("siding", "down") in proposed({**TRAPPED, "points": points})[1]


def test_a_drag_is_no_place_for_a_signal() -> None:
    """Two lengths of track make this one: none stands at the joint between them either."""
    tracks = {
        **TRAPPED["tracks"],
        "drag": {"up": "joint:d", "down": "t.right", "stand": False},
        "sand": {"up": "buffer", "down": "joint:d", "stand": False},
    }
    for level in ("least", "full"):
        _, spots = proposed({**TRAPPED, "tracks": tracks}, level=level)
        assert not {track for track, _ in spots} & {"drag", "sand"}


def test_a_held_edge_needs_no_signal_behind_it() -> None:
    plan = bare(
        {"line": "edge:town p.toe", "road-1": "p.left buffer", "road-2": "p.right buffer"}, "p"
    )
    starters = {("road-1", "up"), ("road-2", "up")}
    assert proposed(plan)[1] == {*starters, ("line", "down")}
    assert proposed({**plan, "edges": {"town": {"held": True}}})[1] == starters
