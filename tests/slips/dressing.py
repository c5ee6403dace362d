"""Plans as clubs write them: random track, with signals, beliefs, levers and scenes.

In every plan, signals hold each stand and each road has an arm. Many plans have subsidiary arms,
distants, true beliefs and possible scenes; some have a yard or a lever frame.
"""

from __future__ import annotations

import marshal
import random
from collections.abc import Callable, Iterator
from typing import Any

from oracle.heads import NotJudgedError
from oracle.two_trains import TooLargeError, holds
from slips.aiming import aim_arms, mend
from slips.laying import signalled_line, signalled_station
from slips.meaning import Arm, Meaning, Plan, Road, arms_of
from slips.opinion import faults, lies_of
from slips.places import derive_duties
from slips.scenery import distant_faults, first_heads, scene_faults, stop_arms
from slips.track_lines import line_faults

MAX_STATES = 60_000


def dressed_line(seed: int) -> Plan | None:
    """Return a line that holds and has no fault, None if the seed leads to none."""
    return _dressed(random.Random(seed), signalled_line)


def dressed_station(seed: int) -> Plan | None:
    """Return a station that holds and has no fault, None if the seed leads to none."""
    return _dressed(random.Random(seed), signalled_station)


def _dressed(rng: random.Random, lay: Callable[[random.Random], Plan]) -> Plan | None:
    plan = lay(rng)
    try:
        aim_arms(rng, plan)
        mend(plan)
        if [*faults(Meaning(plan)), *line_faults(Meaning(plan))]:
            return None
        if not holds(plan, MAX_STATES):
            return None
        _distants(rng, plan)
        _believe(rng, plan)
        _frame(rng, plan)
        _scenes(rng, plan)
    except (NotJudgedError, TooLargeError):
        return None
    return plan if not wrong(plan) else None


def wrong(plan: Plan) -> list[Any]:
    """Return all faults of a plan that can be judged, whether or not it holds."""
    meaning = Meaning(plan)
    found = [*faults(meaning), *line_faults(meaning), *distant_faults(meaning)]
    return [*found, *scene_faults(meaning)]


def _distants(rng: random.Random, plan: Plan) -> None:
    meaning = Meaning(plan)
    for arm in list(meaning.arms):
        signal = plan["signals"][arm.signal]
        length = plan["tracks"][arm.key[0]].get("length_mm", 0)
        if arm.kind != "stop" or rng.random() < 0.6 or signal.get("form") == "disc":
            continue
        value: dict[str, Any] = {"id": f"d{arm.id}", "kind": "distant"}
        if rng.random() < 0.5:
            value["under"] = arm.id
            signal["arms"].append(value)
            if not _repeat(rng, plan, arm.signal, len(signal["arms"]) - 1):
                signal["arms"].pop()
        elif arm.key[2] is None and length > 600 and f"d{arm.signal}" not in plan["signals"]:
            at = length // 5 if arm.key[1] == "down" else length - length // 5
            post = {"track": arm.key[0], "for": arm.key[1], "at_mm": at, "arms": [value]}
            plan["signals"][f"d{arm.signal}"] = post
            if not _repeat(rng, plan, f"d{arm.signal}", 0):
                del plan["signals"][f"d{arm.signal}"]


def _repeat(rng: random.Random, plan: Plan, signal: str, index: int) -> bool:
    """Let a distant repeat arms next ahead of it; return False if there are none."""
    meaning = Meaning(plan)
    distant = arms_with_distants(plan)[signal, index]
    heads = first_heads(meaning, distant)
    ahead = [arm.id for head in heads for arm in stop_arms(meaning, head)]
    if not ahead:
        return False
    named = [rng.choice(ahead)] if rng.random() < 0.6 else ahead
    onward = [r.spots[-1] for r in meaning.speaks[named[0]] or []]
    faced = [meaning.facing(spot) for spot in onward]
    more = [arm.id for head in faced if head for arm in stop_arms(meaning, head)]
    if len(named) == 1 and more and rng.random() < 0.3 and more[0] not in named:
        named.append(more[0])
    distant.value["repeats"] = named[0] if len(named) == 1 and rng.random() < 0.5 else named
    return not list(distant_faults(Meaning(plan)))


def arms_with_distants(plan: Plan) -> dict[tuple[str, int], Arm]:
    """Return every arm, by its signal and its index there."""
    return {(arm.signal, arm.number): arm for arm in arms_of(plan)}


# ---- beliefs, levers, scenes -------------------------------------------------------------------


def _believe(rng: random.Random, plan: Plan) -> None:
    often = rng.choice((0.0, 0.3, 0.6, 1.0))
    meaning = Meaning(plan)
    for arm in meaning.arms:
        roads = meaning.speaks[arm.id] or []
        if roads and rng.random() < often:
            shared = set.intersection(*({*road.lies.items()} for road in roads))
            expects = {name: _word(rng, plan, name, lie) for name, lie in sorted(shared)}
            if expects:
                arm.value["expects"] = expects
        foes = [
            other.id
            for other in meaning.arms
            if other is not arm
            and (theirs := meaning.speaks[other.id])
            and roads
            and all(meaning.conflict(a, b) for a in roads for b in theirs)
        ]
        if foes and rng.random() < often:
            arm.value["never_with"] = rng.sample(foes, min(len(foes), 2))
    for signal, duties in derive_duties(meaning).items():
        if duties and rng.random() < often:
            few = rng.sample(sorted(duties), min(len(duties), 2))
            plan["signals"][signal]["duties"] = few


def _word(rng: random.Random, plan: Plan, name: str, lie: str) -> str:
    normal, lies = lies_of(plan, name)
    if rng.random() < 0.3 or (len(lies) > 2 and lie != normal):
        return lie
    return "normal" if lie == normal else "reverse"


def _frame(rng: random.Random, plan: Plan) -> None:
    if rng.random() < 0.7:
        return
    meaning = Meaning(plan)
    in_yards = {name for yard in plan.get("yards", {}).values() for name in yard.get("points", ())}
    groups: dict[str, list[str]] = {}
    for name in (*plan.get("points", {}), *plan.get("crossings", {})):
        slip = "slip" in plan.get("crossings", {}).get(name, {}).get("kind", "")
        if name not in in_yards and (name in plan.get("points", {}) or slip):
            groups.setdefault(meaning.group_of[name], []).append(name)
    works: list[dict[str, list[str]]] = [{"points": group} for group in groups.values()]
    works += [{"arms": [arm.id]} for arm in arms_with_distants(plan).values()]
    plan["levers"] = {str(number): lever for number, lever in enumerate(works, 1)}


def _scenes(rng: random.Random, plan: Plan) -> None:
    for number in range(rng.choice((0, 1, 1, 2))):
        for _ in range(4):
            scene = _scene(rng, plan)
            plan.setdefault("scenes", {})[f"scene{number}"] = scene
            if not list(scene_faults(Meaning(plan))):
                _more_off(rng, plan, f"scene{number}")
                break
            del plan["scenes"][f"scene{number}"]


def _scene(rng: random.Random, plan: Plan) -> dict[str, Any]:
    meaning = Meaning(plan)
    able = [arm for arm in meaning.arms if meaning.speaks[arm.id]]
    if not able:
        return {"points": {}, "off": [], "trains": {}}
    arm = rng.choice(able)
    road = rng.choice(meaning.speaks[arm.id] or [])
    points = {}
    for name in _moved(meaning, road):
        lies = lies_of(plan, name)[1]
        points[name] = "reverse" if len(lies) == 2 else road.lies[name]
    free = [place for place in meaning.stands if place not in road.places]
    standing = rng.sample(free, min(len(free), rng.randint(0, 2)))
    trains = {_where(rng, meaning, place): True for place in standing}
    return {"points": points, "off": [arm.id], "trains": trains}


def _where(rng: random.Random, meaning: Meaning, place: str) -> str:
    """Return a track or the yard of a place."""
    return rng.choice(meaning.tracks_at[place]) if place in meaning.sections else place


def _moved(meaning: Meaning, road: Road) -> Iterator[str]:
    """Yield the points and slips that lie reverse for a road, and those worked with them."""
    for name in meaning.plan.get("points", {}) | meaning.plan.get("crossings", {}):
        group = meaning.group(name) if name in meaning.group_of else []
        if any(road.lies.get(each, lies_of(meaning.plan, each)[0])
               != lies_of(meaning.plan, each)[0] for each in group):  # fmt: skip
            yield name


def _more_off(rng: random.Random, plan: Plan, scene: str) -> None:
    """Add more arms to ``off`` as long as the scene has no fault."""
    off = plan["scenes"][scene]["off"]
    ids = [arm.id for arm in arms_with_distants(plan).values() if arm.id not in off]
    for arm in rng.sample(ids, min(len(ids), 5)):
        off.append(arm)
        if list(scene_faults(Meaning(plan))):
            off.pop()


def copied(plan: Plan) -> Plan:
    """Return a deep copy of a plan."""
    # Thousands of copies are made of each plan, and this is ten times as fast as JSON.
    copy: Plan = marshal.loads(marshal.dumps(plan))  # noqa: S302 - its own dump
    return copy
