"""The requirements of each level, worked out by hand on small stations."""

from __future__ import annotations

import json
from typing import Any

import pytest

from oracle.cases import a_plan
from trappoint import check
from trappoint.proposing.proposal import propose

SHUTTLE: Any = a_plan(
    {
        "west": "buffer joint:1 stand",
        "line": "joint:1 joint:2 pass 2000",
        "east": "joint:2 buffer stand",
    },
    platforms={"W": {"tracks": ["west"]}, "E": {"tracks": ["east"]}},
)
"""Two platforms at the ends of a line."""


def spots(plan: Any, level: Any) -> set[tuple[str, str]]:
    draft = propose(json.dumps(plan), level=level).drafts[0]
    assert draft.least
    assert draft.report.holds
    return {(reason.track, reason.heading) for reason in draft.reasons}


def bare(plan: Any) -> Any:
    return {key: value for key, value in plan.items() if key != "signals"}


def test_least_leaves_one_train_all_track_that_is_joined() -> None:
    assert spots(bare(SHUTTLE), "least") == set()


def test_homes_stand_on_the_line_outside() -> None:
    """A train for either platform waits on the line, not in the other platform."""
    at_each_end = {("west", "down"), ("east", "up")}
    assert spots(bare(SHUTTLE), "homes") == at_each_end | {("line", "down"), ("line", "up")}


def test_a_home_may_stand_where_trains_stand_on_the_line() -> None:
    """Where trains stand on the line between, the signals there are homes."""
    plan = bare(SHUTTLE)
    plan["tracks"] = {**plan["tracks"], "line": {**plan["tracks"]["line"], "stand": True}}
    assert spots(plan, "least") == set()
    assert spots(plan, "homes") == spots(bare(SHUTTLE), "homes")


def test_no_home_where_there_is_no_room() -> None:
    """Platforms end to end: there is no line between them for a home to stand on."""
    plan = bare(a_plan({"west": "buffer joint:1 stand", "east": "joint:1 buffer stand"}))
    plan["platforms"] = {"W": {"tracks": ["west"]}, "E": {"tracks": ["east"]}}
    assert spots(plan, "least") == set()
    assert spots(plan, "homes") == {("west", "down"), ("east", "up")}


def test_a_joint_within_a_platform_has_no_signal() -> None:
    """One train uses both lengths of track at a platform, so no signal divides them."""
    tracks = {
        "in": "edge:w joint:1",
        "one": "joint:1 joint:2",
        "other": "joint:2 joint:3",
        "end": "joint:3 buffer",
    }
    plan = bare(a_plan(tracks, platforms={"A": {"tracks": ["one", "other"]}}))
    for level in ("homes", "full"):
        assert not {("one", "down"), ("other", "up")} & spots(plan, level)
    assert ("other", "down") in spots(plan, "full")


def test_full_puts_starters_at_the_platforms() -> None:
    """The least leaves the train at the platform to be held at the junction beyond."""
    plan = bare(
        a_plan(
            {
                "in": "edge:w joint:1",
                "halt": "joint:1 joint:2 down stand",
                "on": "joint:2 p.left down pass 900",
                "other": "edge:x p.right down",
                "out": "p.toe edge:e down",
            },
            points={"p": {"normal": "left"}},
            platforms={"H": {"tracks": ["halt"]}},
        )
    )
    assert ("halt", "down") in spots(plan, "full")


@pytest.mark.parametrize(("length", "distants"), [(400, 0), (1200, 1)])
def test_full_has_distants_where_there_is_room(length: int, distants: int) -> None:
    plan = bare(SHUTTLE)
    plan["tracks"] = {
        "in": {"up": "edge:w", "down": "joint:1", "length_mm": length},
        "platform": {"up": "joint:1", "down": "buffer"},
    }
    plan["platforms"] = {"A": {"tracks": ["platform"]}}
    draft = propose(json.dumps(plan), level="full").drafts[0]
    assert len(draft.distants) == distants
    report = check(draft.text)
    assert report.holds
    assert not report.findings
