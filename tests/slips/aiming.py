"""Adds arms for all roads of a signalled plan, and corrects faults of random plans."""

from __future__ import annotations

import random
from itertools import combinations
from typing import Any

from slips.meaning import Arm, HeadKey, Meaning, Plan, Road
from slips.opinion import faults
from slips.places import never_met
from slips.scenery import distant_faults
from slips.track_lines import line_faults

__all__ = ["aim_arms", "mend"]


def aim_arms(rng: random.Random, plan: Plan) -> None:
    """Give every road of a stop head an arm of its own, and some shunt arms a ``to``."""
    meaning = Meaning(plan)
    for arm in meaning.arms:
        if arm.kind == "stop":
            _aim_stop_arm(rng, meaning, arm)
    meaning = Meaning(plan)
    for arm in meaning.arms:
        if arm.kind == "shunt":
            _aim_shunt_arm(rng, meaning, arm)


def _aim_stop_arm(rng: random.Random, meaning: Meaning, arm: Arm) -> None:
    plan, signal = meaning.plan, meaning.plan["signals"][arm.signal]
    roads = meaning.own(arm.key, "stop")
    lies = {pair for road in roads for pair in road.lies.items()}
    if len({name for name, _ in lies}) == len(lies):
        to = _aims(rng, meaning, roads[0], []) if len(roads) == 1 and rng.random() < 0.4 else []
        if to:
            arm.value["to"] = to[0] if len(to) == 1 else to
        return
    if not _split(rng, meaning, arm, roads):
        signal["form"] = "disc"
        return
    if rng.random() < 0.15:
        under = rng.choice([each["id"] for each in signal["arms"] if each["id"][:-1] == arm.id])
        extra = {**_where(arm), "id": f"{arm.id}x", "kind": "calling-on", "under": under}
        plan["signals"][arm.signal]["arms"].append(extra)


def _where(arm: Arm) -> dict[str, Any]:
    """Return the keys of an arm that give its place."""
    return {key: arm.value[key] for key in ("track", "for", "at_mm") if key in arm.value}


def _split(rng: random.Random, meaning: Meaning, arm: Arm, roads: list[Road]) -> bool:
    """Replace an arm by one for each road; return whether that is possible."""
    ordered = meaning.in_order(roads)
    aims = [_aims(rng, meaning, road, [r for r in roads if r is not road]) for road in roads]
    if not 1 < len(roads) < 6 or not all(aims):
        return False
    aim_of = dict(zip([road.number for road in roads], aims, strict=True))
    bare = ordered is not None and rng.random() < 0.25
    signal = meaning.plan["signals"][arm.signal]
    signal["mount"] = "bracket"
    new = []
    for letter, road in zip("abcde", ordered or roads, strict=False):
        each = arm.value | {"id": f"{arm.id}{letter}"}
        if not bare:
            to = aim_of[road.number]
            each["to"] = to[0] if len(to) == 1 else to
        new.append(each)
    place = next(n for n, each in enumerate(signal["arms"]) if each is arm.value)
    signal["arms"][place : place + 1] = new
    return True


def _aim_shunt_arm(rng: random.Random, meaning: Meaning, arm: Arm) -> None:
    """Give a shunt arm a ``to``, split it into several, or put it beneath a stop arm."""
    roads = meaning.own(arm.key, "shunt")
    head = meaning.head_of(arm)
    if head is not None and "stop" in head.kinds:
        above = [each for each in meaning.arms if each.key == arm.key and each.kind == "stop"
                 and each.signal == arm.signal and each.number < arm.number]  # fmt: skip
        if above and rng.random() < 0.6:
            arm.value["under"] = rng.choice(above).id
        if len(roads) > 1 and rng.random() < 0.5:
            road = rng.choice(roads)
            to = _aims(rng, meaning, road, [])
            if to:
                arm.value["to"] = to[0] if len(to) == 1 else to
    elif len(roads) > 1 and rng.random() < 0.25:
        _split(rng, meaning, arm, roads)


def _aims(rng: random.Random, meaning: Meaning, road: Road, others: list[Road]) -> list[str]:
    """Return the fewest names that only this road has, empty if there are none."""
    plan = meaning.plan
    names = [*plan["tracks"], *plan.get("platforms", {}), *plan.get("yards", {})]
    names = [name for name in names if meaning.over(road, name)]
    for size in (1, 2):
        found = [
            list(each)
            for each in combinations(names, size)
            if not any(all(meaning.over(other, name) for name in each) for other in others)
        ]
        if found:
            return rng.choice(found)
    return []


# ---- corrections -------------------------------------------------------------------------------


def mend(plan: Plan) -> None:
    """Correct common faults of random plans: crossovers not worked together, unused signals."""
    for signal in plan["signals"].values():
        if signal.get("mount") in ("post", "ground") and len(signal["arms"]) > 1:
            del signal["mount"]
    for each in list(line_faults(Meaning(plan))):
        if each.rule in ("crossover-not-worked-together", "trap-not-worked-together"):
            plan.setdefault("worked_together", []).append(sorted(each.names))
    meaning = Meaning(plan)
    useless = [meaning.key(head) for head in meaning.all_heads
               if not meaning.of_head(meaning.key(head))]  # fmt: skip
    _take_out(plan, meaning, useless)
    meaning = Meaning(plan)
    _take_out(plan, meaning, list(never_met(meaning)))
    meaning = Meaning(plan)
    for each in [*faults(meaning), *distant_faults(meaning)]:
        if each.rule == "platform-without-home":
            plan.get("platforms", {}).pop(next(iter(each.names)), None)
        if each.rule in ("calling-on-alone", "distant-without-stop-ahead"):
            _take_out_arms(plan, each.names)


def _take_out(plan: Plan, meaning: Meaning, keys: list[HeadKey]) -> None:
    """Take out the arms of some heads."""
    _take_out_arms(plan, {arm.id for arm in meaning.arms if arm.key in keys})


def _take_out_arms(plan: Plan, names: set[str] | frozenset[str]) -> None:
    for signal_id, signal in list(plan["signals"].items()):
        signal["arms"] = [arm for arm in signal["arms"] if arm["id"] not in names]
        if not signal["arms"]:
            del plan["signals"][signal_id]
