"""The printed table alone keeps trains apart, and each of its conflicts has a reason.

A conflict has a reason if, without it, two trains from the two signals meet or run against each
other, or the points would have to lie two ways. Each conflict that follows from the ground is in
the table.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

import trappoint
from proof.hand import BACK_TO_BACK
from proof.plans import EXAMPLES, TIMES, Checked, checked, held, large, small, station
from proof.printed import Printed, UnreadableTableError
from proof.reasons import Reasons
from proof.routes import conflict

SMALL = 60 * TIMES
PATHS = sorted(EXAMPLES.rglob("*.layout.json"))


def read(path: Path) -> Checked | None:
    # By its text, because the table of a plan with boards comes from several texts.
    return checked(path.read_text("utf-8"))


def assert_reasonable(printed: Printed, name: str) -> Counter[str]:
    found: Counter[str] = Counter()
    for one, other in combinations(printed.spoken, 2):
        if one.arm != other.arm and conflict(printed.roads, one.route, other.route):
            assert printed.tells(one, other), (name, one, other)
    if not printed.spoken:
        return found
    with Reasons(printed) as reasons:
        assert reasons.together() is None, name
        for arms, locks in printed.locks.items():
            reason = reasons.of(arms)
            assert reason != "none", (name, arms)
            found[reason] += 1
            for lock in locks:
                assert not reasons.misplaced(lock), (name, lock)
    return found


def test_examples() -> None:
    found: Counter[str] = Counter()
    for path in PATHS:
        of_plan = read(path)
        if of_plan is not None:
            found += assert_reasonable(of_plan.printed, path.name)
    assert min(found[reason] for reason in ("meeting", "standing", "points")) > 20


@pytest.mark.parametrize("draw", [small, held, station])
def test_small_random_plans(draw: Callable[[int], Checked]) -> None:
    found: Counter[str] = Counter()
    for seed in range(SMALL):
        found += assert_reasonable(draw(seed).printed, f"seed {seed}")
    assert min(found[reason] for reason in ("meeting", "standing", "points")) > SMALL
    assert found["opposed"] > SMALL // 5


@pytest.mark.parametrize("points", [20, 30, 40])
def test_large_random_plans(points: int) -> None:
    for seed in range(100, 100 + TIMES):
        assert_reasonable(large(points, seed).printed, f"{points} points, seed {seed}")


# ---- faults of a table are noticed


def kelpie() -> Checked:
    found = checked(EXAMPLES / "kelpie-quay.layout.json")
    assert found is not None
    return found


def test_a_missing_direct_conflict_is_found() -> None:
    printed = kelpie().printed
    missed = 0
    for arms, locks in printed.locks.items():
        less = printed.without(*arms)
        with Reasons(less) as reasons:
            found = reasons.together()
        if [lock.by for lock in locks] == ["direct"]:
            assert found is not None
            assert {grant.arm for grant in found} == {*arms}
            missed += 1
        else:
            assert found is None  # the points see to it
    assert missed == 8


def test_a_missing_conflict_of_signals_back_to_back_is_found() -> None:
    found = checked(json.dumps(BACK_TO_BACK))
    assert found is not None
    assert_reasonable(found.printed, "back to back")
    with Reasons(found.printed) as reasons:
        assert reasons.of(("D", "U")) == "opposed"
    with Reasons(found.printed.without("D", "U")) as reasons:
        met = reasons.together()
    assert met is not None
    assert {grant.arm for grant in met} == {"D", "U"}


def test_an_idle_conflict_is_found() -> None:
    printed = kelpie().printed
    for by in ("direct", "points"):
        table = _table()
        for one, other in (("2", "5"), ("5", "2")):
            entry = next(entry for entry in table["arms"] if entry["arm"] == one)
            entry["conflicts"].append({"arm": other, "by": by})
        with Reasons(Printed(printed.roads, table)) as reasons:
            assert reasons.of(("2", "5")) == "none"
            (lock,) = reasons.printed.locks["2", "5"]
            assert reasons.misplaced(lock)


def test_a_conflict_for_the_wrong_reason_is_found() -> None:
    table = _table()
    for one, other in (("1L", "7R"), ("7R", "1L")):
        entry = next(entry for entry in table["arms"] if entry["arm"] == one)
        row = next(row for row in entry["conflicts"] if row["arm"] == other)
        assert row["by"] == "direct"
        row["by"] = "points"
    with Reasons(Printed(kelpie().printed.roads, table)) as reasons:
        assert reasons.of(("1L", "7R")) == "none"


def test_a_row_that_is_no_way_on_the_plan_is_refused() -> None:
    roads = kelpie().printed.roads
    for change in ({"ends_at": "5"}, {"over": ["main"]}, {"points": {"p1": "right"}}):
        table = _table()
        table["arms"][0]["routes"][0].update(change)
        with pytest.raises(UnreadableTableError):
            Printed(roads, table)


def test_a_conflict_told_with_one_arm_alone_is_refused() -> None:
    table = _table()
    del table["arms"][0]["conflicts"][0]
    with pytest.raises(UnreadableTableError, match="once with each of its arms"):
        Printed(kelpie().printed.roads, table)


def _table() -> dict[str, Any]:
    return trappoint.locking(trappoint.load(EXAMPLES / "kelpie-quay.layout.json")).to_json()
