"""Signals with shunt arms: an arm of either kind is enough for a road, and repairs add none."""

from __future__ import annotations

import json
from typing import Any

import pytest

from oracle.two_trains import holds
from trappoint import check
from trappoint.proposing.proposal import propose

ROADS: Any = {
    "format": "trappoint-layout/1",
    "tracks": {
        "line": {"up": "edge:w", "down": "p.toe"},
        "platform": {"up": "p.left", "down": "buffer"},
        "siding": {"up": "p.right", "down": "buffer"},
    },
    "points": {"p": {"normal": "left"}},
    "platforms": {"A": {"tracks": ["platform"]}},
}
STOP_LEFT = {"id": "1L", "to": "platform"}
STOP_RIGHT = {"id": "1R", "to": "siding"}
SHUNT_RIGHT = {"id": "1S", "kind": "shunt", "to": "siding"}


def signalled(*arms: dict[str, Any], **others: Any) -> Any:
    signals = {
        "1": {"track": "line", "for": "down", "arms": list(arms)},
        "2": {"track": "platform", "for": "up", "arms": [{"id": "2"}]},
        "3": {"track": "siding", "for": "up", "arms": [{"id": "3", "kind": "shunt"}]},
        **others,
    }
    return {**ROADS, "signals": signals}


def repaired(plan: Any) -> tuple[Any, list[str]]:
    """Return the signals after a repair that moves none, and the changes of their arms."""
    draft = propose(json.dumps(plan), repair=True).drafts[0]
    assert draft.worth == 0
    assert draft.least
    assert holds(json.loads(draft.text))
    assert not check(draft.text).findings
    return json.loads(draft.text)["signals"], [did for r in draft.reasons for did in r.done]


@pytest.mark.parametrize(
    "plan",
    [
        signalled(STOP_LEFT, SHUNT_RIGHT),
        signalled(STOP_LEFT, STOP_RIGHT, SHUNT_RIGHT),
        signalled(STOP_LEFT, STOP_RIGHT, {"id": "1S", "kind": "shunt", "under": "1L"}),
        signalled(STOP_LEFT, {"id": "1S", "kind": "shunt", "under": "1L"}),
        signalled(
            STOP_LEFT, **{"4": {"track": "line", "for": "down", "form": "disc",
                                "arms": [{"id": "4", "kind": "shunt", "to": "siding"}]}},
        ),
    ],
    ids=["a kind for each", "both for one", "both for both", "shunt for both", "disc at the foot"],
)  # fmt: skip
def test_what_is_complete_stays_as_it_is(plan: Any) -> None:
    assert not check(json.dumps(plan)).findings
    assert repaired(plan) == (plan["signals"], [])
    kept = propose(json.dumps(plan)).drafts[0]
    assert json.loads(kept.text)["signals"] == plan["signals"]


def test_an_arm_is_added_where_none_of_either_kind_is() -> None:
    signals, done = repaired(signalled(STOP_LEFT))
    assert done == ["1-2 added"]
    assert signals["1"]["arms"] == [STOP_LEFT, {"id": "1-2", "to": "siding"}]


def test_a_shunt_arm_counts_for_its_own_road_alone() -> None:
    other = {"id": "1S", "kind": "shunt", "to": "platform"}
    signals, done = repaired(signalled(STOP_LEFT, other))
    assert done == ["1-2 added"]
    assert signals["1"]["arms"] == [STOP_LEFT, {"id": "1-2", "to": "siding"}, other]


def test_a_stop_arm_for_two_roads_is_aimed_at_the_one_left_to_it() -> None:
    signals, done = repaired(signalled({"id": "1L"}, SHUNT_RIGHT))
    assert done == ["1L given another route"]
    assert signals["1"]["arms"] == [{"id": "1L", "to": "A"}, SHUNT_RIGHT]


def test_a_shunt_signal_holds_trains() -> None:
    """The disc at the siding's exit stays, and no stop signal is proposed beside it."""
    plan = {**ROADS, "signals": {"3": signalled()["signals"]["3"]}}
    draft = propose(json.dumps(plan)).drafts[0]
    spots = {(reason.track, reason.heading): reason.state for reason in draft.reasons}
    assert spots == {
        ("siding", "up"): "kept", ("line", "down"): "new", ("platform", "up"): "new",
    }  # fmt: skip
    assert holds(json.loads(draft.text))
