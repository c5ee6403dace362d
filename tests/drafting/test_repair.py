"""Repairs: the plan holds afterwards, and no smaller change would do."""

from __future__ import annotations

import json
import random
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from drafting.bare import Plan, signalled, track_ends
from oracle.plans import random_plan
from oracle.two_trains import holds
from trappoint import check
from trappoint.drafting import CannotPropose, propose

BATCH = 60
KELPIE = (Path(__file__).parents[2] / "examples" / "kelpie-quay.layout.json").read_text("utf-8")


def repaired(plan: Plan) -> Any:
    return propose(json.dumps(plan), repair=True).drafts[0]


@pytest.mark.parametrize("batch", range(4))
def test_random_plans_hold_when_repaired(batch: int) -> None:
    done = 0
    for seed in range(batch * BATCH, (batch + 1) * BATCH):
        plan = random_plan(random.Random(seed), (1, 4))
        try:
            draft = repaired(plan)
        except CannotPropose:
            assert "yards" in plan, seed
            continue
        done += 1
        after = json.loads(draft.text)
        assert holds(after), seed
        assert draft.least, seed
        states = [reason.state for reason in draft.reasons]
        assert states.count("moved") + max(states.count("new"), states.count("gone")) == draft.worth
    assert done > BATCH // 2


def one_change(plan: Plan) -> list[Plan]:
    """All plans that differ in one signal: added, taken away, or put elsewhere."""
    signals = plan["signals"]
    taken = {(signal["track"], signal["for"]) for signal in signals.values()}
    free = [end for end in track_ends(plan) if end not in taken]
    new = [signalled(plan, (end,))["signals"]["s1"] for end in free]
    without = [{k: v for k, v in signals.items() if k != name} for name in signals]
    changed = [*without, *({**signals, "new": one} for one in new)]
    changed += [{**rest, "new": one} for rest in without for one in new]
    return [{**plan, "signals": one} for one in changed]


def test_one_change_where_one_will_do() -> None:
    """What two changes mend, no single one does, by the two-train search."""
    good = json.loads(KELPIE)
    for key in ("levers", "scenes", "accept"):
        good.pop(key, None)
    for gone in combinations(good["signals"], 2):
        signals = {k: v for k, v in good["signals"].items() if k not in gone}
        bad = {**good, "signals": signals}
        draft = repaired(bad)
        after = json.loads(draft.text)
        assert holds(after)
        assert draft.worth == 2
        assert not any(holds(plan) for plan in one_change(bad))


def test_a_plan_that_holds_is_left_as_it_is() -> None:
    draft = propose(KELPIE, repair=True).drafts[0]
    assert draft.worth == 0
    assert json.loads(draft.text) == json.loads(KELPIE)
    assert all(reason.state == "kept" and not reason.done for reason in draft.reasons)


def test_an_arm_is_aimed_anew() -> None:
    plan = json.loads(KELPIE)
    plan["signals"]["1"]["arms"][0]["to"] = "main"
    draft = repaired(plan)
    assert draft.worth == 0
    assert not check(draft.text).findings
    (changed,) = [reason for reason in draft.reasons if reason.done]
    assert changed.signal == "1"
    assert len(changed.done) == 1


def test_references_to_what_is_gone_are_taken_out() -> None:
    """A second signal right before the first is taken away, and its lever and scene with it."""
    plan = json.loads(KELPIE)
    plan.pop("accept", None)
    plan["signals"]["9"] = {"track": "siding", "for": "down", "arms": [{"id": "9"}]}
    plan["levers"] = {"1": {"arms": ["9"]}, "2": {"arms": ["1L", "1R"]}}
    plan["scenes"] = {"s": {"off": ["9"]}}
    draft = repaired(plan)
    after = json.loads(draft.text)
    assert "9" not in after["signals"]
    assert after["levers"] == {"2": {"arms": ["1L", "1R"]}}
    assert "off" not in after["scenes"]["s"]
    assert any(said.startswith("/scenes/s/off") for said in draft.dropped)
    assert any(said.startswith("/levers/1") for said in draft.dropped)
