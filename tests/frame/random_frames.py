"""Random plans with random levers that work all points and slips."""

from __future__ import annotations

import json
import random
from itertools import chain
from typing import Any

from oracle.plans import random_plan
from trappoint import PlanError, load, locking
from trappoint.facts.facts import Facts

Plan = dict[str, Any]


def random_frame(rng: random.Random, most: int = 9) -> Plan | None:
    """A random plan with a frame; None if the plan is not judged or has too many points."""
    plan = random_plan(rng, (1, 5))
    works = points_levers(plan)
    arms = _arm_levers(rng, plan)
    if len(works) > most - 2 or not arms:
        return None
    works += arms[: most - len(works)]
    rng.shuffle(works)
    plan["levers"] = {str(number): lever for number, lever in enumerate(works, 1)}
    try:
        facts = Facts(load(json.dumps(plan)))
        locking(facts.layout)
    except PlanError:
        return None
    _take_off_lonely_distants(plan, facts)
    return plan


def points_levers(plan: Plan) -> list[Plan]:
    """A lever for each set of points and slips worked together, two for three-way points."""
    points, crossings = plan.get("points", {}), plan.get("crossings", {})
    slips = [each for each, crossing in crossings.items() if "slip" in crossing.get("kind", "")]
    groups = [[each] for each in [*points, *slips]]
    for members in plan.get("worked_together", []):
        met = [group for group in groups if set(group) & set(members)]
        groups = [group for group in groups if group not in met] + [list(chain(*met))]
    levers = []
    for group in groups:
        three_way = points.get(group[0], {}).get("kind") == "three-way"
        levers += [{"points": list(group)} for _ in range(2 if three_way else 1)]
    return levers


def _arm_levers(rng: random.Random, plan: Plan) -> list[Plan]:
    """Mostly a lever for each arm, at times one for all of a signal, or for any two."""
    levers: list[Plan] = []
    for signal in plan.get("signals", {}).values():
        ids = [arm["id"] for arm in signal["arms"]]
        together = rng.random() < 0.4
        levers += [{"arms": ids}] if together else [{"arms": [each]} for each in ids]
    rng.shuffle(levers)
    if len(levers) > 2 and rng.random() < 0.2:
        levers[0]["arms"] = levers[0]["arms"] + levers.pop()["arms"]
    return levers


def _take_off_lonely_distants(plan: Plan, facts: Facts) -> None:
    """Take distants off their levers unless all arms that they repeat have one."""
    on = {arm for lever in plan["levers"].values() for arm in lever.get("arms", [])}
    names = [arm.id for arm in facts.assignment.arms]
    for distant in facts.distants:
        ahead = [*distant.repeats, *([distant.above] if distant.above >= 0 else [])]
        if all(names[number] in on for number in ahead):
            continue
        for lever in plan["levers"].values():
            if distant.arm.id in lever.get("arms", []):
                lever["arms"].remove(distant.arm.id)
                if not lever["arms"]:
                    del lever["arms"]
