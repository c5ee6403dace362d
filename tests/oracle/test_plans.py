"""The generators draw valid plans with everything in them, and about half of them hold."""

from __future__ import annotations

import copy
import json
import random
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from amount import amount
from oracle.features import ALL, features
from oracle.plans import large_plan, random_plan
from oracle.stations import station_plan
from oracle.two_trains import holds, meeting, replay

SCHEMA = Path(__file__).parents[2] / "schema" / "layout.schema.json"
GENERATORS: dict[str, Any] = {"random": random_plan, "station": station_plan}
SEEDS = range(amount(200, long=3000))
LEGS = {
    "turnout": ("toe", "left", "right"),
    "three-way": ("toe", "left", "middle", "right"),
}


@cache
def _drawn(name: str) -> list[tuple[Any, Any]]:
    """Plans of one generator, each with a movement by which it fails, or None."""
    plans = [GENERATORS[name](random.Random(seed)) for seed in SEEDS]
    return [(plan, meeting(plan)) for plan in plans]


@pytest.mark.parametrize("name", GENERATORS)
def test_between_a_third_and_two_thirds_hold(name: str) -> None:
    verdicts = Counter(movement is None for _, movement in _drawn(name))
    assert 0.35 <= verdicts[True] / verdicts.total() <= 0.65


@pytest.mark.parametrize("name", GENERATORS)
def test_plans_fail_by_short_and_by_long_movements(name: str) -> None:
    takes: Counter[int] = Counter()
    for plan, movement in _drawn(name):
        if movement is not None:
            replay(plan, movement)
            takes[sum(step["do"] == "take" for step in movement["steps"])] += 1
    assert takes[0] >= 20
    assert takes[1] >= 10
    assert takes.total() - takes[0] - takes[1] >= 3


def test_everything_occurs_in_plans_that_hold_and_in_plans_that_fail() -> None:
    found: dict[bool, Counter[str]] = {True: Counter(), False: Counter()}
    for name in GENERATORS:
        for plan, movement in _drawn(name):
            found[movement is None].update(features(plan))
    for verdict, counts in found.items():
        rare = {feature: counts[feature] for feature in ALL if counts[feature] < 10}
        assert not rare, f"in plans that {'hold' if verdict else 'fail'}"
        assert set(counts) <= ALL


@pytest.mark.parametrize("name", GENERATORS)
def test_plans_are_valid_by_the_schema(name: str) -> None:
    validator = jsonschema.Draft202012Validator(json.loads(SCHEMA.read_text()))
    for plan, _ in _drawn(name)[:60]:
        validator.validate(plan)


@pytest.mark.parametrize("name", GENERATORS)
def test_every_leg_is_met_once_and_every_joint_by_two_ends(name: str) -> None:
    for plan, _ in _drawn(name):
        met = Counter(track[end] for track in plan["tracks"].values() for end in ("up", "down"))
        legs = Counter({text: number for text, number in met.items() if "." in text})
        assert legs == Counter(_legs(plan))
        assert {number for text, number in met.items() if text.startswith("joint:")} <= {2}
        assert {number for text, number in met.items() if text.startswith("edge:")} <= {1}
        arms = [arm["id"] for signal in plan["signals"].values() for arm in signal["arms"]]
        assert len(arms) == len(set(arms))


def _legs(plan: Any) -> list[str]:
    points = plan.get("points", {}).items()
    legs = [f"{each}.{leg}" for each, of in points for leg in LEGS[of.get("kind", "turnout")]]
    for each in plan.get("crossings", {}):
        legs += [f"{each}.{leg}" for leg in ("a1", "a2", "b1", "b2")]
    for each, turntable in plan.get("turntables", {}).items():
        legs += [f"{each}.{road}" for road in turntable["roads"]]
    return legs


def test_many_plans_hold_by_one_thing_alone() -> None:
    """Without their traps or yards some of the plans that hold do so no longer."""
    hung: Counter[str] = Counter()
    for name in GENERATORS:
        for plan, movement in _drawn(name):
            if movement is None:
                hung.update(key for key, changed in _changes(plan) if not holds(changed))
    assert hung["trap"] >= 30
    assert hung["yards"] >= 20


def _changes(plan: Any) -> list[tuple[str, Any]]:
    """The plan without its traps, and without its yards, where it has any."""
    bare = copy.deepcopy(plan)
    traps = [points.pop("trap", False) for points in bare.get("points", {}).values()]
    changes = [("trap", bare)] if any(traps) else []
    if "yards" in plan:
        changes.append(("yards", {each: plan[each] for each in plan if each != "yards"}))
    return changes


@pytest.mark.parametrize("name", GENERATORS)
def test_most_plans_hold_before_flaws(name: str) -> None:
    held = [holds(GENERATORS[name](random.Random(seed), flaws=0)) for seed in range(50)]
    assert sum(held) >= 40


def test_large_plans_are_as_large_as_asked_and_hold_unless_flawed() -> None:
    for seed in range(4):
        plan = large_plan(random.Random(seed), points=25, flaws=0)
        assert 25 <= len(plan["points"]) <= 32
        assert holds(plan)
    verdicts = {holds(large_plan(random.Random(seed), points=20, flaws=4)) for seed in range(8)}
    assert False in verdicts


def test_stations_have_three_points_and_more() -> None:
    numbers = [len(plan["points"]) for plan, _ in _drawn("station")]
    assert min(numbers) >= 3
    assert max(numbers) <= 15


@pytest.mark.parametrize("draw", [random_plan, station_plan, large_plan])
def test_the_same_seed_draws_the_same_plan(draw: Any) -> None:
    assert json.dumps(draw(random.Random(5))) == json.dumps(draw(random.Random(5)))
