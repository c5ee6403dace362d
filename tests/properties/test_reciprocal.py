"""Locks are reciprocal: if one row of the table locks another, that row locks the first."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from oracle.plans import random_plan
from trappoint.checking.check import check_content
from trappoint.interlocking.locking_table import LockingTable

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.layout.json"))


def assert_reciprocal(table: LockingTable) -> int:
    """Source: reference on testing frames, "locks and releases are reciprocal: test both"."""
    said = {
        (entry.arm, conflict.arm, conflict.by, frozenset((conflict.when or {}).items()))
        for entry in table.arms
        for conflict in entry.conflicts
    }
    assert {(other, arm, by, when) for arm, other, by, when in said} == said
    return sum(conflict.when is not None for entry in table.arms for conflict in entry.conflicts)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_on_examples(path: Path) -> None:
    table = check_content(path.read_bytes(), path.name).table
    assert table is not None
    assert_reciprocal(table)


def test_on_random_plans() -> None:
    conditional = 0
    for seed in range(300):
        report = check_content(json.dumps(random_plan(random.Random(seed))), f"seed {seed}")
        table = report.table
        assert table is not None
        conditional += assert_reciprocal(table)
    assert conditional > 100
