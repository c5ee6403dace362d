"""Readers of the plans of published examples and of their tables."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from trappoint import LockingTable, Report, check

PLANS = Path(__file__).parent / "plans"

Plan = dict[str, Any]
Pair = frozenset[str]


def plan_of(name: str) -> Plan:
    plan: Plan = json.loads((PLANS / f"{name}.layout.json").read_text("utf-8"))
    return plan


def checked(plan: Plan) -> Report:
    """Check a plan that has no faults of form."""
    report = check(json.dumps(plan))
    assert report.fault is None
    assert report.facts is not None, report.findings
    return report


def table_of(plan: Plan) -> LockingTable:
    table = checked(plan).table
    assert table is not None
    return table


def conflicts(table: LockingTable) -> dict[Pair, str]:
    """For each pair of arms that may never be off together, what sees to it."""
    found: dict[Pair, str] = {}
    for entry in table.arms:
        for conflict in entry.conflicts:
            assert conflict.when is None, "a conditional lock, which none of the examples has"
            pair = frozenset((entry.arm, conflict.arm))
            assert found.setdefault(pair, conflict.by) == conflict.by, "rows differ"
    return found


def locked_by(table: LockingTable) -> dict[str, set[str]]:
    """For each arm those that it locks."""
    return {entry.arm: {conflict.arm for conflict in entry.conflicts} for entry in table.arms}


def points_of(table: LockingTable, arm: str) -> dict[str, str]:
    """The lies that an arm with one route needs."""
    (entry,) = (entry for entry in table.arms if entry.arm == arm)
    (route,) = entry.routes
    return dict(route.points)


def pairs(text: str) -> set[Pair]:
    """Read pairs written as in the sources: `W1-W2, W1-2W`."""
    return {frozenset(pair.strip().split("-")) for pair in text.split(",")}
