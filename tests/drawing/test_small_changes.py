"""A small change of the plan moves little of its drawing (see ``drawing.changes`` for the measure).

As last measured (the plain way to solve): in the examples tracks keep their lanes in 93 of 100
pairs when a siding is added, and in 98 or more when a signal or a platform is; elements keep their
order in 99. In random plans, which look like no railway, it is 89 when a siding is added and 96 or
more else. A new name changes nothing.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from functools import cache
from pathlib import Path
from statistics import mean

import pytest

from drawing.changes import CHANGES, Plan, add_siding, changed, kept, name_anew
from oracle.plans import random_plan
from trappoint.checking.check import check
from trappoint.drawing.sketch import Sketch, sketch

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.layout.json"))


def drawn(plan: Plan) -> Sketch:
    layout = check(json.dumps(plan)).layout
    assert layout is not None
    return sketch(layout)


Change = Callable[[random.Random, Plan], None]


@cache
def before_of(text: str) -> Sketch:
    return drawn(json.loads(text))


def measured(plan: Plan, change: Change, seeds: range) -> list[tuple[float, float]]:
    before = before_of(json.dumps(plan))
    return [kept(before, drawn(changed(random.Random(s), plan, change))) for s in seeds]


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_the_examples_stay_as_they_are_drawn(change: Change) -> None:
    found: list[tuple[float, float]] = []
    for path in EXAMPLES:
        plan = json.loads(path.read_text("utf-8"))
        large = len(plan["tracks"]) > 100
        found += measured(plan, change, range(1 if large else 2))
    lanes, order = [pair[0] for pair in found], [pair[1] for pair in found]
    if change is name_anew:
        assert set(found) == {(1.0, 1.0)}
    assert mean(lanes) > (0.92 if change is add_siding else 0.97)
    assert mean(order) > 0.95
    assert min(lanes) > 0.7


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_random_plans_stay_much_as_they_are_drawn(change: Change) -> None:
    found: list[tuple[float, float]] = []
    for seed in range(25):
        found += measured(random_plan(random.Random(seed)), change, range(seed, seed + 1))
    least = 0.85 if change is add_siding else 0.94
    assert mean(pair[0] for pair in found) > least
    assert mean(pair[1] for pair in found) > least
