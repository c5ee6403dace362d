"""A second opinion: all faults of a plan, derived without the library.

Each fault has the id of the rule that should report it, and the names that the finding must have.
A plan that holds by the search and has no fault is right by the definitions.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise
from typing import Any, NamedTuple

from oracle.ground import HEADINGS, Spot
from slips.meaning import Arm, Meaning, Plan, Road, arms_of, many
from slips.places import derive_duties, free_run, is_for_trains, never_met, reached_spots


class Fault(NamedTuple):
    """A fault: the rule that should report it, and the names that the finding must have."""

    rule: str
    names: frozenset[str]


def fault(rule: str, *names: str) -> Fault:
    return Fault(rule, frozenset(names))


def faults(meaning: Meaning) -> Iterator[Fault]:
    """Yield all faults except that the plan does not hold: the search finds that."""
    yield from _roads(meaning)
    yield from _pairs_of_arms(meaning)
    yield from _beliefs(meaning)
    yield from _reach(meaning)
    yield from _platforms(meaning)
    yield from _posts(meaning.plan)


# ---- arms and their roads ----------------------------------------------------------------------


def _roads(meaning: Meaning) -> Iterator[Fault]:
    for head in meaning.all_heads:
        if not meaning.of_head(meaning.key(head)):
            yield fault("signal-without-route", head.signal)
    for arm in meaning.arms:
        roads = meaning.speaks[arm.id]
        own = meaning.own(arm.key, arm.kind)
        if arm.kind == "calling-on":
            yield from _calling_on(meaning, arm, own)
        if roads is None:
            if meaning.of_head(arm.key):
                yield fault("arm-needs-to", arm.id)
        elif own and not roads and "to" in arm.value:
            yield fault("arm-names-no-route", arm.id)
        elif arm.kind == "stop" and meaning.form(arm.signal) != "disc":
            lies = {(name, lie) for road in roads for name, lie in road.lies.items()}
            if len({name for name, _ in lies}) < len(lies):
                yield fault("arm-speaks-for-two-roads", arm.id)
    yield from _roads_without_arm(meaning)


def _roads_without_arm(meaning: Meaning) -> Iterator[Fault]:
    """Yield roads along which neither a stop arm nor a shunt arm gives leave."""
    for head in meaning.all_heads:
        key = meaning.key(head)
        kin = [arm for arm in meaning.arms if arm.key == key]
        if any(meaning.speaks[arm.id] is None for arm in kin):
            continue
        leave = [arm for arm in kin if arm.kind != "calling-on"]
        spoken = [road for arm in leave for road in meaning.speaks[arm.id] or []]
        for road in meaning.own(key, "stop") + meaning.own(key, "shunt"):
            if not any(road.along(other) for other in spoken):
                yield fault("route-without-arm", head.signal)


def _calling_on(meaning: Meaning, arm: Arm, own: list[Road]) -> Iterator[Fault]:
    head = meaning.head_of(arm)
    if head is None or "stop" not in head.kinds:
        yield fault("calling-on-alone", arm.id)
        return
    above = meaning.by_id.get(arm.value.get("under", ""))
    mine = meaning.speaks[arm.id]
    theirs = meaning.speaks[above.id] if above is not None else None
    if mine and theirs and any(road not in theirs for road in mine):
        yield fault("calling-on-for-another-road", arm.id)


def _pairs_of_arms(meaning: Meaning) -> Iterator[Fault]:
    for one, other in combinations(meaning.arms, 2):
        mine, theirs = meaning.speaks[one.id] or [], meaning.speaks[other.id] or []
        alike = (one.kind == "calling-on") is (other.kind == "calling-on")
        if alike and any(road in theirs for road in mine):
            yield fault("two-arms-for-one-route", one.id, other.id)
    for arm in meaning.arms:
        kin = meaning.kin(arm)
        if kin[0] is arm:
            for left, right in pairwise(kin):
                mine, theirs = meaning.speaks[left.id] or [], meaning.speaks[right.id] or []
                sides = {meaning.side(a, b) for a in mine for b in theirs if a != b}
                if sides == {1}:
                    yield fault("arms-out-of-order", left.id, right.id)


# ---- beliefs -----------------------------------------------------------------------------------


def _beliefs(meaning: Meaning) -> Iterator[Fault]:
    plan = meaning.plan
    for arm in meaning.arms:
        roads = meaning.speaks[arm.id] or []
        for name, word in arm.value.get("expects", {}).items():
            believed = lie_named(plan, name, word)
            if any(needed(meaning, road, name) != believed for road in roads):
                yield fault("expectation-mismatch", arm.id, name)
        for name in arm.value.get("never_with", []):
            other = meaning.by_id.get(name)
            theirs = meaning.speaks[name] if other is not None else None
            if other is not None and not (roads and theirs):
                continue  # Another rule reports an arm without a road.
            pairs = [(mine, their) for mine in roads for their in theirs or []]
            if not pairs or other is arm or not all(meaning.conflict(*pair) for pair in pairs):
                yield fault("never-with-mismatch", arm.id, name)
    duties = derive_duties(meaning)
    for signal_id, signal in plan.get("signals", {}).items():
        for duty in signal.get("duties", []):
            if duty not in duties.get(signal_id, set()):
                yield fault("duty-mismatch", signal_id)


def lies_of(plan: Plan, name: str) -> tuple[str, list[str]]:
    """Return the normal lie of points or of a slip, and all its lies."""
    if name in plan.get("points", {}):
        points = plan["points"][name]
        more = ["middle"] if points.get("kind") == "three-way" else []
        return points["normal"], ["left", "right", *more]
    return "straight", ["straight", "slip"]


def lie_named(plan: Plan, name: str, word: str) -> str | None:
    """Return the lie that a word means, None if it means none."""
    normal, lies = lies_of(plan, name)
    others = [lie for lie in lies if lie != normal]
    if word == "normal":
        return normal
    if word == "reverse":
        return others[0] if len(others) == 1 else None
    return word if word in lies else None


def needed(meaning: Meaning, road: Road, name: str) -> str | None:
    """Return the lie that a road needs of points or a slip, itself or by its group, or None."""
    if name in road.lies:
        return road.lies[name]
    word = meaning.needs(road).get(meaning.group_of.get(name, ""))
    return lie_named(meaning.plan, name, word) if word is not None else None


# ---- the tracks and signals that trains reach --------------------------------------------------


def _reach(meaning: Meaning) -> Iterator[Fault]:
    if not meaning.stands and not meaning.come_on:
        yield fault("nowhere-to-stand")
        return
    places = {place for place, _ in reached_spots(meaning)}
    for place in meaning.sections.keys() - places - meaning.drags():
        yield from (fault("unreachable-track", track) for track in meaning.tracks_at[place])
    for place in meaning.sections:
        tracks = [each for each in meaning.tracks_at[place] if meaning.tracks[each].get("stand")]
        for one, other in combinations(tracks, 2):
            yield fault("stands-not-parted", one, other)
    for key in never_met(meaning):
        yield fault("unreachable-signal", meaning.head_at_spot[key].signal)


def _platforms(meaning: Meaning) -> Iterator[Fault]:
    plan = meaning.plan
    in_yards = {t for yard in plan.get("yards", {}).values() for t in yard.get("tracks", [])}
    for platform_id, platform in plan.get("platforms", {}).items():
        homes = [
            arm
            for arm in meaning.arms
            if (head := meaning.head_of(arm)) is not None
            and is_for_trains(meaning, head)
            and any(meaning.over(road, platform_id) for road in meaning.speaks[arm.id] or [])
        ]
        if not homes and any(track not in in_yards for track in platform["tracks"]):
            yield fault("platform-without-home", platform_id)
        places = {place for track in platform["tracks"] for place in meaning.places_of(track)}
        for place in places & meaning.sections.keys():
            for heading in meaning.stands.get(place, ()):
                if _leaves_unseen(meaning, (place, heading)):
                    track = meaning.last_track((place, heading))
                    yield fault("platform-without-starter", platform_id, track)


def _leaves_unseen(meaning: Meaning, spot: Spot) -> bool:
    run = free_run(meaning, spot)
    return len(run) > 1 and not any(meaning.facing(each) for each in run)


# ---- posts, levers -----------------------------------------------------------------------------


def _posts(plan: Plan) -> Iterator[Fault]:
    arms = list(arms_of(plan))
    for signal_id, signal in plan.get("signals", {}).items():
        dolls = {arm.doll for arm in arms if arm.signal == signal_id}
        if len(dolls) > 1 and signal.get("mount") in ("post", "ground"):
            yield fault("mount-too-small", signal_id)
    for arm in arms:
        for other in arms:
            stands_with = (arm.signal, arm.doll) == (other.signal, other.doll)
            if arm.kind == "distant" and other.kind == "stop" and stands_with:
                under = arm.value.get("under")
                if other.value.get("under") == arm.id or (
                    under is None and other.number > arm.number
                ):
                    yield fault("distant-above-stop-arm", arm.id, other.id)
    yield from _levers(plan, arms)


def _levers(plan: Plan, arms: list[Arm]) -> Iterator[Fault]:
    levers: dict[str, Any] = plan.get("levers", {})
    if not levers:
        return
    groups = {name: {name} for name in (*plan.get("points", {}), *plan.get("crossings", {}))}
    for listed in plan.get("worked_together", []):
        merged = set().union(*(groups[name] for name in listed))
        groups.update(dict.fromkeys(merged, merged))
    works: dict[str, set[str]] = {}
    for number, lever in levers.items():
        moved = [each for name in lever.get("points", []) for each in groups[name]]
        for name in {*moved, *(f"arm {arm}" for arm in lever.get("arms", []))}:
            works.setdefault(name, set()).add(number)
        own = lever.get("points", [])
        if any(name not in groups[own[0]] for name in own[1:]):
            yield fault("lever-splits-group", number)
        if not own and not lever.get("arms"):
            yield fault("lever-unused", number)
    for numbers in (found for name, found in works.items() if len(found) > _most(plan, name)):
        yield fault("on-two-levers", *numbers)
    in_yards = {
        name
        for yard in plan.get("yards", {}).values()
        for name in (*yard.get("points", []), *yard.get("crossings", []))
    }
    wanted = [name for name in plan.get("points", {}) if name not in in_yards]
    for name, crossing in plan.get("crossings", {}).items():
        if crossing.get("kind", "diamond") != "diamond" and name not in in_yards:
            wanted.append(name)
    yield from (fault("not-on-a-lever", name) for name in wanted if name not in works)
    for arm in arms:
        if f"arm {arm.id}" not in works:
            yield fault("not-on-a-lever", arm.id)


def _most(plan: Plan, name: str) -> int:
    return 2 if plan.get("points", {}).get(name, {}).get("kind") == "three-way" else 1


__all__ = ["HEADINGS", "Fault", "fault", "faults", "lie_named", "lies_of", "many", "needed"]
