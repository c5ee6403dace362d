"""Repairs: the plan holds afterwards, and no smaller change is enough."""

from __future__ import annotations

import json
import random
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from amount import amount
from oracle.ground import Ground
from oracle.heads import holding_heads
from oracle.plans import random_plan
from oracle.two_trains import holds
from proposing.bare import Plan, signalled, track_ends
from proposing.brute import pieces, places_for_posts, reached
from trappoint import check
from trappoint.proposing.proposal import CannotPropose, propose

if TYPE_CHECKING:
    from collections.abc import Iterator

BATCH = 40
KELPIE = (Path(__file__).parents[2] / "examples" / "kelpie-quay.layout.json").read_text("utf-8")


def repaired(plan: Plan) -> Any:
    return propose(json.dumps(plan), repair=True).drafts[0]


@pytest.mark.parametrize("batch", range(amount(1, long=20)))
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


def smaller_repairs(plan: Plan, worth: int) -> Iterator[Plan]:
    """All plans with fewer signals taken away and fewer put elsewhere, each at the end of a track.

    Where a stop signal stands at an end already, another one is none.
    """
    signals = plan["signals"]
    taken = {(head.track, head.heading) for head in holding_heads(plan) if head.at is None}
    ends = [end for end in places_for_posts(plan) if end not in taken]
    for gone in subsets(list(signals), worth - 1):
        kept = {name: signal for name, signal in signals.items() if name not in gone}
        for added in subsets(ends, worth - 1):
            new = signalled(plan, added)["signals"]
            yield {**plan, "signals": {**kept, **{f"new-{name}": new[name] for name in new}}}


def subsets(things: list[Any], most: int) -> Iterator[tuple[Any, ...]]:
    for count in range(most + 1):
        yield from combinations(things, count)


def test_no_smaller_repair_holds() -> None:
    """By the two-train search; trains come to all track, and no signal is faulty that is new."""
    tried = 0
    for seed in range(amount(140, long=5000)):
        plan = random_plan(random.Random(seed), (1, 3))
        shunts = any("kind" in arm for s in plan["signals"].values() for arm in s["arms"])
        if "turntables" in plan or "yards" in plan or shunts or len(plan["signals"]) > 7:
            continue
        draft = repaired(plan)
        assert draft.least, seed
        whole = Ground({"signals": {}, **json.loads(draft.text)})
        tried += draft.worth > 0
        wanted = reached(Ground(signalled(plan, tuple(places_for_posts(plan)))))
        assert wanted <= reached(whole), seed
        for smaller in smaller_repairs(plan, draft.worth):
            ground = Ground(smaller)
            if pieces(ground)[0] <= pieces(whole)[0] and wanted <= reached(ground):
                assert not holds(smaller), (seed, smaller["signals"])
    assert tried > 5


def one_change(plan: Plan) -> list[Plan]:
    """All plans that differ in one signal: added, removed, or moved."""
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
    """The repair removes a second signal right before the first, with its lever and scene."""
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
