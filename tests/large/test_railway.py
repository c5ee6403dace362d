"""The large plans have every kind of element, do not depend on chance, and hold."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest

from large.railway import railway, written
from oracle.two_trains import holds
from trappoint.checking.check import check_content

SIZES = [*range(2, 42), 60, 100, 250]


@pytest.mark.parametrize("points", SIZES)
def test_as_large_as_asked_and_nothing_to_say_of_it(points: int) -> None:
    plan = railway(points, seed=points)
    assert len(plan["points"]) == points
    report = check_content(written(plan), "a railway")
    assert report.holds is True
    assert report.findings == ()
    assert report.table is not None
    assert report.table.pairs_conflicting or points < 3


@pytest.mark.parametrize("points", [2, 3, 7, 15, 30, 40])
def test_the_two_train_search_says_the_same(points: int) -> None:
    assert holds(railway(points, seed=points))


def test_without_a_signal_both_say_that_it_fails() -> None:
    """Not every signal is needed to keep trains apart; those of stands are."""
    draw = random.Random(1)
    failed = 0
    for seed in range(12):
        plan = railway(20, seed)
        del plan["levers"], plan["scenes"]
        number = draw.choice(sorted(plan["signals"]))
        removed = {arm["id"] for arm in plan["signals"].pop(number)["arms"]}
        _forget(plan, removed)
        verdict = check_content(json.dumps(plan), "without one").holds
        assert verdict is holds(plan), f"seed {seed} without {number}"
        failed += verdict is False
    assert 3 <= failed < 12


def _forget(plan: dict[str, Any], removed: set[str]) -> None:
    """Take arms out of what others say of them."""
    for post in plan["signals"].values():
        for arm in post["arms"]:
            for key in ("repeats", "never_with"):
                kept = [name for name in arm.get(key, ()) if name not in removed]
                arm.pop(key, None)
                if kept:
                    arm[key] = kept


def test_there_is_something_of_every_kind() -> None:
    plan = railway(1000)
    assert {"points", "crossings", "turntables", "worked_together", "platforms", "yards"} <= {*plan}
    arms = [arm for post in plan["signals"].values() for arm in post["arms"]]
    assert {arm.get("kind", "stop") for arm in arms} == {"stop", "distant", "calling-on"}
    assert {post.get("form") for post in plan["signals"].values()} == {None, "disc"}
    assert {key for arm in arms for key in arm} >= {"to", "under", "repeats", "expects"}
    assert plan["scenes"]
    assert 2.1 * 1000 <= len(arms) <= 2.5 * 1000
