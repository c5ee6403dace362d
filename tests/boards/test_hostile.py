"""Spoilt plans and boards end in findings, each at an existing line of a known file."""

from __future__ import annotations

import copy
import json
import random
from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest

from amount import amount
from boards.cutting import cut
from boards.test_assembling import FILES, whole
from boards.wholes import at_hand
from oracle.plans import random_plan
from trappoint import PlanError, Report, board_files, check, load

Plan = dict[str, Any]

ODD = ("", "a/b", "station/p1", "yard:in", ":in", "station:out", "edge:out", "joint:x", "p1.toe",
       "../up.layout.json", "station.layout.json", "whole.layout.json", "down", "reverse",
       0, -1, 1e9, True, None, [], {}, ["a"], {"a": "b"})  # fmt: skip


def places(value: Any) -> Iterator[tuple[Any, Any]]:
    """Yield every dictionary or list in a value with each of its keys or indexes."""
    keys = list(value) if isinstance(value, dict) else range(len(value))
    for key in keys:
        yield value, key
        if isinstance(value[key], dict | list):
            yield from places(value[key])


def spoil(rng: random.Random, plan: Plan) -> None:
    """Make one change to a plan, as by mistake or by malice."""
    container, key = rng.choice(list(places(plan)))
    others = [held[k] for held, k in places(plan)]
    what = rng.random()
    texts = [(held, k) for held, k in places(plan) if isinstance(held[k], str)]
    if what < 0.5:
        # Copy a text from the same key elsewhere: its form is usually right.
        container, key = rng.choice(texts)
        container[key] = rng.choice([held[k] for held, k in texts if k == key])
    elif what < 0.6:
        del container[key]
    elif what < 0.7:
        container[key] = copy.deepcopy(rng.choice(others))
    elif what < 0.9:
        container[key] = copy.deepcopy(rng.choice(ODD))
    elif isinstance(container, dict):
        name = rng.choice([k for held, k in places(plan) if isinstance(k, str)] + ["a/b", "x"])
        container[name] = container.pop(key)


def a_meet(rng: random.Random) -> tuple[Plan, dict[str, Plan]]:
    """Return a plan and its boards: those of other tests, or a random plan cut in two."""
    if rng.random() < 0.5:
        inner = whole(boards={"yard": {"plan": "yard.layout.json", "reversed": True}})
        boards = {"station": {"plan": "station.layout.json"}, "hall": {"plan": "inner.layout.json"}}
        plan = whole("station:out hall:station/out", boards=boards)
        inner["joins"] = []
        return plan, copy.deepcopy(FILES) | {"inner.layout.json": inner}
    while True:
        parts = cut(rng, random_plan(rng, (2, 5)))
        if parts is not None:
            return parts.whole, parts.boards


def assert_in_order(report: Report, files: set[str], name: str) -> None:
    assert report.fault is None, (name, report.findings)
    for finding in (*report.findings, *report.accepted):
        assert finding.line > 0, (name, finding)
        assert finding.file in files | {""}, (name, finding)
        assert bool(finding.whole) is bool(finding.file), (name, finding)
        lines = report.text_of(finding).split("\n")
        assert finding.column <= len(lines[finding.line - 1]), (name, finding)


@pytest.mark.parametrize("batch", range(amount(1, long=40)))
def test_slips_in_any_of_the_files(batch: int) -> None:
    told: Counter[str] = Counter()
    for seed in range(batch * 250, (batch + 1) * 250):
        rng = random.Random(seed)
        plan, boards = a_meet(rng)
        for _ in range(rng.choice((1, 1, 2, 4))):
            spoil(rng, rng.choice([plan, *boards.values()]))
        text, files = json.dumps(plan, indent=1), at_hand(boards)
        report = check(text, files=files)
        assert_in_order(report, set(boards), f"seed {seed}")
        assert set(board_files(text, files=files)) >= {board.file for board in report.boards}
        told.update(finding.rule for finding in report.findings)
        try:
            load(text, files=files)
        except PlanError as error:
            assert {f.rule for f in error.findings} <= {f.rule for f in report.findings} | {
                f.rule for f in report.accepted
            }
    assert len(told) > 20, told
