"""Plans as clubs write them: a line laid at random, then signalled, aimed, believed and set.

Every plan has signals that hold each stand, an arm with its `to` for each road, distants, beliefs
and scenes that are true, and now and then a yard and a lever frame.
"""

from __future__ import annotations

import marshal
import random
from collections.abc import Iterator
from itertools import combinations
from typing import Any

from oracle.heads import NotJudgedError
from oracle.shapes import lay_line
from oracle.two_trains import TooLargeError, holds
from slips.meaning import Arm, Meaning, Plan, Road, arms_of
from slips.opinion import faults, lies_of
from slips.places import derive_duties
from slips.scenery import distant_faults, first_heads, scene_faults, stop_arms
from slips.track_lines import OTHER, line_faults, links, senses

MOST_STATES = 60_000


def dressed_plan(seed: int) -> Plan | None:
    """A plan that holds and in which nothing is wrong; None where the seed leads to none."""
    rng = random.Random(seed)
    plan = lay_line(rng, rng.randint(2, 7))
    _turn_round(plan)
    _one_way(rng, plan)
    _yard(rng, plan)
    _heads(rng, plan)
    try:
        _aim(rng, plan)
        _mend(plan)
        if [*faults(Meaning(plan)), *line_faults(Meaning(plan))]:
            return None
        if not holds(plan, MOST_STATES):
            return None
        _distants(rng, plan)
        _believe(rng, plan)
        _frame(rng, plan)
        _scenes(rng, plan)
    except (NotJudgedError, TooLargeError):
        return None
    return plan if not wrong(plan) else None


def wrong(plan: Plan) -> list[Any]:
    """All faults of a plan that can be judged, besides whether it holds."""
    meaning = Meaning(plan)
    found = [*faults(meaning), *line_faults(meaning), *distant_faults(meaning)]
    return [*found, *scene_faults(meaning)]


def _turn_round(plan: Plan) -> None:
    """Let down mean one way along the whole line, as far as reversing loops allow."""
    for sense, _ in senses(plan):
        for track_id, kept in sense.items():
            track = plan["tracks"][track_id]
            if not kept:
                track["up"], track["down"] = track["down"], track["up"]


def _one_way(rng: random.Random, plan: Plan) -> None:
    """Make some tracks one-way, mostly those that lead in or out: double line is worked so."""
    for track in plan["tracks"].values():
        likely = 0.3 if "edge:" in track["up"] + track["down"] else 0.05
        if not track.get("stand") and rng.random() < likely:
            track["running"] = rng.choice(("down", "up"))


def _yard(rng: random.Random, plan: Plan) -> None:
    """Make the sidings beyond some points a yard, with the track that leads to them."""
    if rng.random() < 0.4:
        return
    meets = {track[e]: (t, e) for t, track in plan["tracks"].items() for e in ("up", "down")}
    served = {t for platform in plan.get("platforms", {}).values() for t in platform["tracks"]}
    for name in rng.sample(list(plan["points"]), len(plan["points"])):
        lead, end = meets[f"{name}.toe"]
        tracks, points = [lead], [name]
        if not _all_sidings(plan, meets, name, tracks, points):
            continue
        far = plan["tracks"][lead][OTHER[end]]
        if "." in far and not served & set(tracks) and far.partition(".")[0] not in points:
            plan["yards"] = {"yard": {"tracks": tracks, "points": points}}
            return


def _all_sidings(
    plan: Plan, meets: dict[str, tuple[str, str]], name: str, tracks: list[str], points: list[str]
) -> bool:
    for leg in lies_of(plan, name)[1]:
        track_id, end = meets[f"{name}.{leg}"]
        far = plan["tracks"][track_id][OTHER[end]]
        tracks.append(track_id)
        onward, _, onward_leg = far.partition(".")
        if far != "buffer":
            if onward_leg != "toe" or onward in points:
                return False
            points.append(onward)
            if not _all_sidings(plan, meets, onward, tracks, points):
                return False
    return True


# ---- signals -----------------------------------------------------------------------------------


def _heads(rng: random.Random, plan: Plan) -> None:
    signals: dict[str, Any] = {}
    in_yard = {t for yard in plan.get("yards", {}).values() for t in yard["tracks"]}
    served = {t for platform in plan.get("platforms", {}).values() for t in platform["tracks"]}
    likely = rng.choice((0.3, 0.6, 1.0))
    for track_id, track in plan["tracks"].items():
        if _is_crossover(plan, track_id):
            continue
        ends = track["up"] + track["down"]
        at_limit = "buffer" in ends or "edge:" in ends
        stand = track.get("stand", track_id in served or at_limit)
        for heading in ("down", "up"):
            text = track[heading]
            if text == "buffer" or text.startswith("edge:"):
                continue
            if track.get("running", "both") == OTHER[heading]:
                continue
            border = track_id in in_yard and _leads_out(plan, in_yard, text)
            if track_id in in_yard and not border:
                continue
            chance = likely if text.endswith(".toe") else 0.25 * likely
            if not (stand or border or rng.random() < chance):
                continue
            number = len(signals) + 1
            signal: dict[str, Any] = {"track": track_id, "for": heading}
            siding = "buffer" in ends or border
            shunt = siding and track_id not in served and rng.random() < 0.3
            arm = {"id": f"s{number}", "kind": "shunt"} if shunt else {"id": f"s{number}"}
            signals[f"s{number}"] = signal | ({"form": "disc"} if shunt else {}) | {"arms": [arm]}
            if not border and track["length_mm"] > 1500 and rng.random() < 0.15:
                number += 1
                at = round(track["length_mm"] * rng.choice((0.3, 0.6)))
                signals[f"s{number}"] = signal | {"at_mm": at, "arms": [{"id": f"s{number}"}]}
    plan["signals"] = signals


def _is_crossover(plan: Plan, track_id: str) -> bool:
    """Whether a track is part of a crossover: no signal stands on that."""
    groups = [set(group) for group in plan.get("worked_together", [])]
    return any(
        track_id in line and {one, other} in groups for line, (one, _), (other, _) in links(plan)
    )


def _leads_out(plan: Plan, in_yard: set[str], text: str) -> bool:
    name = text.partition(".")[0]
    return name not in plan.get("yards", {})["yard"]["points"] and bool(in_yard)


def _aim(rng: random.Random, plan: Plan) -> None:
    """Give every road of a stop head an arm of its own, with a `to` that only it runs over."""
    meaning = Meaning(plan)
    for arm in meaning.arms:
        signal = plan["signals"][arm.signal]
        if arm.kind == "shunt":
            continue
        roads = meaning.own(arm.key, "stop")
        lies = {pair for road in roads for pair in road.lies.items()}
        if len({name for name, _ in lies}) == len(lies):
            to = _aims(rng, meaning, roads[0], []) if len(roads) == 1 and rng.random() < 0.4 else []
            if to:
                signal["arms"][0]["to"] = to[0] if len(to) == 1 else to
            continue
        ordered = meaning.in_order(roads)
        aims = [_aims(rng, meaning, road, [r for r in roads if r is not road]) for road in roads]
        if not 1 < len(roads) < 6 or not all(aims):
            signal["form"] = "disc"
            continue
        told = dict(zip([road.spots for road in roads], aims, strict=True))
        bare = ordered is not None and rng.random() < 0.25
        signal["mount"] = "bracket"
        signal["arms"] = []
        for letter, road in zip("abcde", ordered or roads, strict=False):
            to = told[road.spots]
            new: dict[str, Any] = {"id": f"{arm.id}{letter}"}
            if not bare:
                new["to"] = to[0] if len(to) == 1 else to
            signal["arms"].append(new)
        if rng.random() < 0.15:
            under = rng.choice(signal["arms"])["id"]
            extra = {"id": f"{arm.id}x", "kind": "calling-on", "under": under}
            signal["arms"].append(extra)


def _aims(rng: random.Random, meaning: Meaning, road: Road, others: list[Road]) -> list[str]:
    """What only this road runs over, in as few names as can be; nothing where there is no such."""
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


def _mend(plan: Plan) -> None:
    """Put right what a random line so often has wrong: crossovers told apart, roads not used."""
    for each in list(line_faults(Meaning(plan))):
        if each.rule == "crossover-told-apart":
            plan.setdefault("worked_together", []).append(sorted(each.names))
    for each in list(faults(Meaning(plan))):
        if each.rule == "signal-never-met":
            plan["signals"].pop(next(iter(each.names)), None)
        if each.rule == "platform-without-home":
            plan.get("platforms", {}).pop(next(iter(each.names)), None)


def _distants(rng: random.Random, plan: Plan) -> None:
    meaning = Meaning(plan)
    for arm in list(meaning.arms):
        signal = plan["signals"][arm.signal]
        length = plan["tracks"][arm.key[1]].get("length_mm", 0)
        if arm.kind != "stop" or rng.random() < 0.6 or signal.get("form") == "disc":
            continue
        value: dict[str, Any] = {"id": f"d{arm.id}", "kind": "distant"}
        if rng.random() < 0.5:
            value["under"] = arm.id
            signal["arms"].append(value)
            if not _repeat(rng, plan, arm.signal, len(signal["arms"]) - 1):
                signal["arms"].pop()
        elif arm.key[3] is None and length > 600 and f"d{arm.signal}" not in plan["signals"]:
            at = length // 5 if arm.key[2] == "down" else length - length // 5
            post = {"track": arm.key[1], "for": arm.key[2], "at_mm": at, "arms": [value]}
            plan["signals"][f"d{arm.signal}"] = post
            if not _repeat(rng, plan, f"d{arm.signal}", 0):
                del plan["signals"][f"d{arm.signal}"]


def _repeat(rng: random.Random, plan: Plan, signal: str, index: int) -> bool:
    """Let a distant repeat arms next ahead of it; tell whether there are any."""
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
    """Every arm, by its signal and its number on that."""
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
    in_yards = {name for yard in plan.get("yards", {}).values() for name in yard["points"]}
    groups: dict[str, list[str]] = {}
    for name in (*plan.get("points", {}), *plan.get("crossings", {})):
        slip = "slip" in plan.get("crossings", {}).get(name, {}).get("kind", "")
        if name not in in_yards and (name in plan.get("points", {}) or slip):
            groups.setdefault(min(meaning._groups.get(name, {name})), []).append(name)
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
    taken = {meaning.track_of.get(place) for place in road.places}
    free = [place for place in meaning.stands if meaning.track_of.get(place, place) not in taken]
    standing = rng.sample(free, min(len(free), rng.randint(0, 2)))
    trains = {meaning.track_of.get(place, place): True for place in standing}
    return {"points": points, "off": [arm.id], "trains": trains}


def _moved(meaning: Meaning, road: Road) -> Iterator[str]:
    """The points and slips that do not lie normal for a road, with those worked together."""
    for name in meaning.plan.get("points", {}) | meaning.plan.get("crossings", {}):
        group = meaning._groups.get(name, frozenset((name,)))
        if any(road.lies.get(each, lies_of(meaning.plan, each)[0])
               != lies_of(meaning.plan, each)[0] for each in group):  # fmt: skip
            yield name


def _more_off(rng: random.Random, plan: Plan, scene: str) -> None:
    """Take more arms off as long as all is right."""
    off = plan["scenes"][scene]["off"]
    ids = [arm.id for arm in arms_with_distants(plan).values() if arm.id not in off]
    for arm in rng.sample(ids, min(len(ids), 5)):
        off.append(arm)
        if list(scene_faults(Meaning(plan))):
            off.pop()


def copied(plan: Plan) -> Plan:
    """A copy that shares nothing with the plan."""
    # Thousands are made for each plan: this is ten times as fast as by way of JSON.
    copy: Plan = marshal.loads(marshal.dumps(plan))  # noqa: S302 - its own dump
    return copy
