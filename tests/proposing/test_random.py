"""Proposals for random plans hold by the two-train search, and need every signal and arm."""

from __future__ import annotations

import json
from collections import Counter
from copy import deepcopy
from typing import TYPE_CHECKING, Any

import pytest

from amount import amount
from oracle.features import features
from oracle.ground import Ground
from oracle.two_trains import holds
from proposing.bare import bare_plan
from proposing.brute import pieces, reached, sidings_of
from trappoint import check
from trappoint.proposing.proposal import CannotPropose, propose

if TYPE_CHECKING:
    from collections.abc import Iterator

BATCH = 50
FIRST, BATCHES = amount(1240, long=1000), amount(1, long=20)
"""The seeds. One of those below 1240 alone takes half a minute."""

TRACK = {
    *("turnout", "three-way", "diamond", "single-slip", "double-slip", "turntable", "trap points"),
    *("drag", "worked together", "trap worked together", "yard", "listed train", "platform"),
    *("edge", "buffer", "joint", "merged section", "like ends meet", "ring", "limit"),
    *("one-way track", "stand true", "stand false"),
}
"""What a plan without signals can have; each is in many of the plans."""

UNAVOIDABLE = {"signal-without-route", "arm-needs-to"}
"""Found where a stand's only way on leads nowhere, or no names tell two roads apart."""


def found_in(plan: Any) -> set[tuple[str, str]]:
    return {(f.rule, f.pointer) for f in check(json.dumps(plan)).findings if f.level != "note"}


def with_one_signal_less(plan: Any) -> Iterator[Any]:
    for name in plan["signals"]:
        less = deepcopy(plan)
        del less["signals"][name]
        yield less


def with_one_arm_less(plan: Any) -> Iterator[Any]:
    for name, signal in plan["signals"].items():
        for index in range(len(signal["arms"]) if len(signal["arms"]) > 1 else 0):
            less = deepcopy(plan)
            del less["signals"][name]["arms"][index]
            yield less


def is_needed(whole: Ground, less: Any) -> bool:
    """Whether a signal is missed: trains meet, come to less track, or more arms are needed."""
    ground = Ground(less)
    sidings = sidings_of(less)
    more = pieces(ground, sidings) >= pieces(whole, sidings)
    return not holds(less) or not reached(whole) <= reached(ground) or more


def seeds(batch: int) -> range:
    return range(FIRST + batch * BATCH, FIRST + (batch + 1) * BATCH)


def test_every_kind_of_element_is_in_many_of_the_plans() -> None:
    plans = [bare_plan(seed) for batch in range(BATCHES) for seed in seeds(batch)]
    seen = Counter(each for plan in plans for each in features({**plan, "signals": {}}))
    assert {kind for kind in TRACK if seen[kind] < 6 * BATCHES} == set()


@pytest.mark.parametrize("batch", range(BATCHES))
def test_they_hold_and_nothing_can_be_spared(batch: int) -> None:
    proposed = clean = 0
    for seed in seeds(batch):
        plan = bare_plan(seed)
        before = found_in(plan)
        try:
            draft = propose(json.dumps(plan)).drafts[0]
        except CannotPropose:
            assert "yards" in plan, seed  # some yards have exits without room for a post
            continue
        proposed += 1
        after = json.loads(draft.text)
        assert holds(after), seed
        found = found_in(after)
        errors = {f.rule for f in draft.report.findings if f.level == "error"}
        assert errors <= UNAVOIDABLE, (seed, errors)
        if errors:
            continue
        clean += 1
        # The new findings are about the track; none follows from a signal.
        assert {rule for rule, _ in found - before} <= {
            "road-never-set",
            "unreachable-track",
            "platform-without-starter",
        }, (seed, found - before)
        # One arm may speak for several roads of a turntable; a proposal gives each its own.
        if "signals" in after and "turntables" not in plan and draft.worth < 30:
            whole = Ground(after)
            for less in with_one_signal_less(after):
                assert is_needed(whole, less), (seed, less["signals"])
            for less in with_one_arm_less(after):
                assert found_in(less) - found, (seed, less["signals"])
    assert proposed > BATCH * 0.7
    assert clean > BATCH * 0.6
