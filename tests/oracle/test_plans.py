"""The random plans are of every kind, and about half of them hold."""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

from oracle.ground import Ground
from oracle.heads import holding_heads
from oracle.plans import large_plan, random_plan
from oracle.two_trains import holds, meeting, replay


def _features(plan: Any) -> set[str]:
    """What a plan has in it, of all that a plan can have."""
    found = set()
    for key in ("yards", "worked_together", "platforms"):
        if plan.get(key):
            found.add(key)
    found |= {each.get("kind", "turnout") for each in plan.get("points", {}).values()}
    found |= {each.get("kind", "diamond") for each in plan.get("crossings", {}).values()}
    found |= {"turntable"} if plan.get("turntables") else set()
    for track in plan["tracks"].values():
        found |= {f"running {track['running']}"} if "running" in track else set()
        found |= {f"stand {track['stand']}"} if "stand" in track else set()
        found |= {track[end].partition(":")[0] for end in ("up", "down") if "." not in track[end]}
    for signal in plan["signals"].values():
        found |= {f"for {signal['for']}"} | ({"at_mm"} if "at_mm" in signal else set())
        for arm in signal["arms"]:
            found.add(arm.get("kind", "stop"))
            found |= {"arm of another track"} if "track" in arm else set()
    return found | _held(plan)


def _held(plan: Any) -> set[str]:
    """How the trains of a plan are held, and what they run past."""
    found = set()
    for head in holding_heads(plan):
        kinds = " and ".join(sorted(head.kinds))
        found.add(f"{kinds} {'at the end' if head.at is None else 'along a track'}")
    ground = Ground(plan)
    for (place, way_in), ways in ground.ways_out.items():
        heads = [way.head for way in ways if way.head is not None]
        if way_in == "":
            found |= {" and ".join(sorted(head.kinds)) + " at a border" for head in heads}
        for _, route in ground.routes[place, way_in]:
            passed = [way.head for spot in route[:-1] for way in ground.ways_out[spot]]
            found |= {"past shunt arms"} if any(passed) else set()
    return found


def test_random_plans_have_everything_and_both_verdicts() -> None:
    features: set[str] = set()
    verdicts: Counter[bool] = Counter()
    routes_taken: set[int] = set()
    for seed in range(600):
        plan = random_plan(random.Random(seed))
        features |= _features(plan)
        found = meeting(plan)
        verdicts[found is None] += 1
        if found is not None:
            replay(plan, found)
            routes_taken.add(sum(each["do"] == "take" for each in found["steps"]))
    assert features >= {
        "turnout", "three-way", "diamond", "single-slip", "double-slip", "turntable", "yards",
        "worked_together", "platforms", "running down", "running up", "running both",
        "stand True", "stand False", "buffer", "edge", "joint", "for down", "for up", "at_mm",
        "stop", "distant", "calling-on", "shunt", "arm of another track",
        "shunt at the end", "shunt along a track", "shunt at a border", "shunt and stop at the end",
        "shunt and stop along a track", "shunt and stop at a border", "past shunt arms",
    }  # fmt: skip
    assert 0.35 <= verdicts[True] / verdicts.total() <= 0.65
    assert routes_taken >= {0, 1, 2}


def test_large_plans_are_as_large_as_asked_and_hold_unless_flawed() -> None:
    for seed in range(4):
        plan = large_plan(random.Random(seed), points=25, flaws=0)
        assert 25 <= len(plan["points"]) <= 32
        assert holds(plan)
    verdicts = {holds(large_plan(random.Random(seed), points=20, flaws=4)) for seed in range(8)}
    assert False in verdicts


def test_the_same_seed_draws_the_same_plan() -> None:
    assert random_plan(random.Random(5)) == random_plan(random.Random(5))
    assert large_plan(random.Random(5)) == large_plan(random.Random(5))
