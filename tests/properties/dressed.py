"""Random plans with everything that authors add: arms for each road, beliefs, scenes, distants."""

from __future__ import annotations

import json
import random
from typing import Any

from oracle.plans import random_plan
from trappoint import LockingTable, Report, check

Plan = dict[str, Any]


AT_ONE_OF_SEVERAL = frozenset(
    (
        "arm-id-twice",
        "arms-out-of-order",
        "leg-met-twice",
        "reversing-loop",
        "scene-trains-not-parted",
        "signals-on-one-spot",
        "stands-not-parted",
        "standstill",
        "two-arms-for-one-route",
        "up-meets-up",
    )
)
"""Rules that report two or more things at one of them: the later in the file, the left one, or
either half of a line."""


def checked(plan: Plan) -> Report:
    report = check(json.dumps(plan, indent=1))
    assert report.fault is None, report.findings
    return report


def dressed_plan(seed: int) -> Plan:
    """Return a random plan with faults, on which as many rules as possible find something."""
    rng = random.Random(seed)
    plan = random_plan(rng, elements=(1, 5))
    _arms_for_roads(rng, plan)
    _distants(rng, plan)
    table = checked(plan).table
    assert table is not None
    _beliefs(rng, plan, table)
    _scenes(rng, plan, table)
    _accept(rng, plan)
    return plan


def _arms_for_roads(rng: random.Random, plan: Plan) -> None:
    """Give signals for several roads an arm for each, with a ``to``, mostly in table order."""
    table = checked(plan).table
    assert table is not None
    for entry in table.arms:
        signal = plan["signals"][entry.signal]
        if len(signal["arms"]) > 1 or not 1 < len(entry.routes) < 6 or rng.random() < 0.2:
            continue
        kind = {} if entry.kind == "stop" else {"kind": entry.kind}
        arms = [
            {
                "id": f"{entry.arm}r{number}",
                **kind,
                "to": sorted(set(route.over), key=route.over.index),
            }
            for number, route in enumerate(entry.routes)
            if route.over
        ]
        if rng.random() < 0.3:
            rng.shuffle(arms)
        if rng.random() < 0.2:
            arms.pop()
        if rng.random() < 0.3:
            for arm in arms:
                del arm["to"]
        if arms:
            signal["arms"] = arms


def _stop_arms(plan: Plan) -> list[dict[str, Any]]:
    return [
        arm
        for signal in plan["signals"].values()
        for arm in signal["arms"]
        if arm.get("kind", "stop") == "stop"
    ]


def _distants(rng: random.Random, plan: Plan) -> None:
    stops = [arm["id"] for arm in _stop_arms(plan)]
    for signal in plan["signals"].values():
        for arm in signal["arms"]:
            if arm.get("kind") == "distant" and stops and rng.random() < 0.7:
                arm["repeats"] = rng.sample(stops, min(len(stops), rng.choice((1, 1, 2))))


def _beliefs(rng: random.Random, plan: Plan, table: LockingTable) -> None:
    names = [entry.arm for entry in table.arms]
    arms = {arm["id"]: arm for signal in plan["signals"].values() for arm in signal["arms"]}
    for entry in table.arms:
        arm = arms[entry.arm]
        if entry.routes and rng.random() < 0.5:
            lies = dict(rng.choice(entry.routes).points)
            for name in lies:
                if rng.random() < 0.2:
                    lies[name] = "normal"
            if lies:
                arm["expects"] = lies
        if rng.random() < 0.5:
            near = [conflict.arm for conflict in entry.conflicts] + [rng.choice(names)]
            arm["never_with"] = sorted(set(rng.sample(near, min(2, len(near)))))
    for row in table.signals:
        duties = [duty for duty in row.duties if rng.random() < 0.3]
        if rng.random() < 0.1:
            duties.append(f"holds {rng.choice(list(plan['tracks']))}")
        if duties:
            plan["signals"][row.signal]["duties"] = sorted(set(duties))


def _scenes(rng: random.Random, plan: Plan, table: LockingTable) -> None:
    plan["scenes"] = {}
    for number in range(rng.randint(1, 3)):
        lies: dict[str, str] = {}
        off = []
        for entry in rng.sample(table.arms, min(len(table.arms), rng.randint(1, 3))):
            off.append(entry.arm)
            if entry.routes:
                lies.update(rng.choice(entry.routes).points)
        tracks = rng.sample(list(plan["tracks"]), rng.randint(0, 2))
        plan["scenes"][f"scene-{number}"] = {
            "points": lies,
            "off": off,
            "trains": dict.fromkeys(tracks, True),
        }


def _accept(rng: random.Random, plan: Plan) -> None:
    found = [
        finding
        for finding in checked(plan).findings
        if finding.pointer and finding.rule not in AT_ONE_OF_SEVERAL
    ]
    chosen = rng.sample(found, min(len(found), 2))
    plan["accept"] = [
        {"rule": f.rule, "at": f.pointer, "because": "It is far from the public."} for f in chosen
    ]
    if rng.random() < 0.3:
        plan["accept"].append({"rule": "unheld-exit", "at": rng.choice(list(plan["tracks"]))})
