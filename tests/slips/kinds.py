"""The slips that people make: for each kind, all slips of that kind in one plan.

A slip is one wrong value. References to the thing change with it if its author would not have
written them either: without the signal, there is no lever for it and no scene with it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any, NamedTuple

from slips.dressing import copied
from slips.meaning import Plan, arms_of, many
from slips.opinion import lies_of
from slips.track_lines import OTHER


class Slip(NamedTuple):
    """A plan with one slip in it, and the place of the slip.

    ``at``: the pointers of the changed values; a finding at, above or below one of them is in its
    place. ``names``: the ids of the changed things; a finding with one of them is in its place too.
    """

    plan: Plan
    at: tuple[str, ...]
    names: frozenset[str]
    told: str


def slip(plan: Plan, told: str, *at: str, names: tuple[str, ...] = ()) -> Slip:
    return Slip(plan, at, frozenset(names), told)


Arms = Iterator[tuple[str, int, dict[str, Any]]]


def arms_in(plan: Plan, *kinds: str) -> Arms:
    """Yield every arm of some kinds: its signal, its index there, and its object."""
    for signal_id, signal in plan["signals"].items():
        for index, arm in enumerate(signal["arms"]):
            if arm.get("kind", "stop") in kinds:
                yield signal_id, index, arm


def _arm_ids(plan: Plan, signal: str) -> tuple[str, ...]:
    return tuple(arm["id"] for arm in plan["signals"][signal]["arms"])


def names_of(plan: Plan, signal: str) -> tuple[str, ...]:
    """Return a signal and all signals on its spot, with their arms, tracks and yards."""
    every = list(arms_of(plan))
    keys = {arm.key for arm in every if arm.signal == signal}
    beside = [arm for arm in every if arm.key in keys]
    tracks = [plan["signals"][signal]["track"], *(track for track, _, _ in keys)]
    yards = [yard for track in tracks for yard in yards_with(plan, track)]
    return (signal, *(name for arm in beside for name in (arm.signal, arm.id)), *tracks, *yards)


def forget_arms(plan: Plan, *gone: str) -> None:
    """Take out all references to these arms."""
    for _, _, arm in arms_in(plan, "stop", "distant", "calling-on", "shunt"):
        for key in ("never_with", "repeats"):
            if key in arm:
                arm[key] = [name for name in many(arm[key]) if name not in gone]
                if not arm[key]:
                    del arm[key]
        if arm.get("under") in gone:
            del arm["under"]
    for number in list(plan.get("levers", {})):
        lever = plan["levers"][number]
        if set(lever.get("arms", ())) & set(gone):
            lever["arms"] = [name for name in lever["arms"] if name not in gone]
            if not lever["arms"]:
                del plan["levers"][number]
    for scene in plan.get("scenes", {}).values():
        if "off" in scene:
            scene["off"] = [name for name in scene["off"] if name not in gone]


# ---- signals -----------------------------------------------------------------------------------


def signal_left_out(plan: Plan) -> Iterator[Slip]:
    for signal in plan["signals"]:
        new = copied(plan)
        del new["signals"][signal]
        forget_arms(new, *_arm_ids(plan, signal))
        track = plan["signals"][signal]["track"]
        yield slip(new, f"{signal} on {track}", f"/tracks/{track}", names=names_of(plan, signal))


def yards_with(plan: Plan, track: str) -> list[str]:
    yards = plan.get("yards", {})
    return [name for name in yards if track in yards[name].get("tracks", [])]


def signal_faces_other_way(plan: Plan) -> Iterator[Slip]:
    for signal, value in plan["signals"].items():
        new = copied(plan)
        new["signals"][signal]["for"] = OTHER[value["for"]]
        yield slip(new, signal, f"/signals/{signal}/for", names=names_of(plan, signal))


def tracks_at(plan: Plan, element: str) -> list[str]:
    """Return the tracks that meet points or a crossing."""
    ends = {name: (track["up"], track["down"]) for name, track in plan["tracks"].items()}
    return [name for name, both in ends.items() if element in [e.partition(".")[0] for e in both]]


def _beside(plan: Plan, track: str) -> list[str]:
    """Return the tracks that meet an element or a joint at either end of a track."""

    def met(name: str) -> set[str]:
        ends = (plan["tracks"][name][end] for end in ("up", "down"))
        return {e if e.startswith("joint:") else e.partition(".")[0] for e in ends} - {"buffer"}

    return [name for name in plan["tracks"] if name != track and met(name) & met(track)]


def signal_on_neighbour(plan: Plan) -> Iterator[Slip]:
    for signal, value in plan["signals"].items():
        for track in _beside(plan, value["track"]):
            new = copied(plan)
            new["signals"][signal]["track"] = track
            names = (*names_of(plan, signal), track)
            told = f"{signal} on {track} not {value['track']}"
            yield slip(new, told, f"/signals/{signal}", f"/tracks/{value['track']}", names=names)


def signals_exchanged(plan: Plan) -> Iterator[Slip]:
    signals = list(plan["signals"])
    for one, other in pairwise(signals):
        tracks = [plan["signals"][each]["track"] for each in (one, other)]
        if tracks[0] != tracks[1] and plan["signals"][one]["for"] == plan["signals"][other]["for"]:
            new = copied(plan)
            new["signals"][one]["track"], new["signals"][other]["track"] = tracks[::-1]
            names = (*names_of(plan, one), *names_of(plan, other))
            at = (f"/signals/{one}", f"/signals/{other}")
            yield slip(new, f"{one} and {other}", *at, names=names)


def at_mm_from_wrong_end(plan: Plan) -> Iterator[Slip]:
    for signal, value in plan["signals"].items():
        length = plan["tracks"][value["track"]].get("length_mm")
        if "at_mm" in value and length is not None and 2 * value["at_mm"] != length:
            new = copied(plan)
            new["signals"][signal]["at_mm"] = length - value["at_mm"]
            yield slip(new, signal, f"/signals/{signal}/at_mm", names=names_of(plan, signal))


# ---- arms --------------------------------------------------------------------------------------


def arms_swapped(plan: Plan) -> Iterator[Slip]:
    for signal, value in plan["signals"].items():
        stops = [n for n, arm in enumerate(value["arms"]) if arm.get("kind", "stop") == "stop"]
        for one, other in pairwise(stops):
            new = copied(plan)
            arms = new["signals"][signal]["arms"]
            arms[one], arms[other] = arms[other], arms[one]
            names = (signal, *_arm_ids(plan, signal))
            told = f"{signal}: {arms[other]['id']} and {arms[one]['id']}"
            yield slip(new, told, f"/signals/{signal}/arms", names=names)


def arm_for_wrong_road(plan: Plan) -> Iterator[Slip]:
    goals = [*plan["tracks"], *plan.get("platforms", {}), *plan.get("yards", {})]
    for signal, index, arm in arms_in(plan, "stop"):
        to = many(arm.get("to"))
        near = [name for other in plan["signals"][signal]["arms"] for name in many(other.get("to"))]
        for goal in dict.fromkeys([*near, *goals] if to else ()):
            if goal not in to:
                new = copied(plan)
                new["signals"][signal]["arms"][index]["to"] = goal
                names = (arm["id"], signal)
                told = f"{arm['id']} to {goal} not {to}"
                yield slip(new, told, f"/signals/{signal}/arms/{index}/to", names=names)


def arm_left_out(plan: Plan) -> Iterator[Slip]:
    for signal, index, arm in arms_in(plan, "stop", "shunt"):
        if len(plan["signals"][signal]["arms"]) > 1:
            new = copied(plan)
            del new["signals"][signal]["arms"][index]
            forget_arms(new, arm["id"])
            names = names_of(plan, signal)
            yield slip(new, arm["id"], f"/signals/{signal}/arms", names=names)


def arm_doubled(plan: Plan) -> Iterator[Slip]:
    for signal, index, arm in arms_in(plan, "stop", "shunt", "distant", "calling-on"):
        new = copied(plan)
        new["signals"][signal]["arms"].insert(index + 1, copied(arm))
        names = (arm["id"], signal)
        yield slip(new, arm["id"], f"/signals/{signal}/arms/{index + 1}", names=names)


def arm_doubled_renamed(plan: Plan) -> Iterator[Slip]:
    for signal, index, arm in arms_in(plan, "stop", "shunt"):
        new = copied(plan)
        name = f"{arm['id']}-2"
        new["signals"][signal]["arms"].insert(index + 1, copied(arm) | {"id": name})
        if "levers" in plan:
            new["levers"][str(len(plan["levers"]) + 1)] = {"arms": [name]}
        yield slip(new, name, f"/signals/{signal}/arms", names=(arm["id"], name, signal))


def arm_of_wrong_kind(plan: Plan) -> Iterator[Slip]:
    for signal, index, arm in arms_in(plan, "stop", "shunt", "calling-on"):
        for kind in ("distant", "shunt", "stop", "calling-on"):
            if kind != arm.get("kind", "stop"):
                new = copied(plan)
                new["signals"][signal]["arms"][index]["kind"] = kind
                track = plan["signals"][signal]["track"]
                names = names_of(plan, signal)
                told = f"{arm['id']} as {kind}"
                yield slip(new, told, f"/signals/{signal}", f"/tracks/{track}", names=names)


def distant_repeats_wrong(plan: Plan) -> Iterator[Slip]:
    stops = [arm["id"] for _, _, arm in arms_in(plan, "stop", "shunt")]
    for signal, index, arm in arms_in(plan, "distant"):
        repeats = many(arm.get("repeats"))
        for number, name in enumerate(repeats):
            for other in stops:
                if other not in repeats:
                    new = copied(plan)
                    named = [*repeats[:number], other, *repeats[number + 1 :]]
                    new["signals"][signal]["arms"][index]["repeats"] = named
                    at = f"/signals/{signal}/arms/{index}/repeats"
                    told = f"{arm['id']} for {other} not {name}"
                    yield slip(new, told, at, names=(arm["id"],))


def distant_above(plan: Plan) -> Iterator[Slip]:
    for signal, index, arm in arms_in(plan, "distant"):
        if "under" in arm:
            new = copied(plan)
            arms = new["signals"][signal]["arms"]
            upper = next(n for n, each in enumerate(arms) if each["id"] == arm["under"])
            del arms[index]["under"]
            arms[upper]["under"] = arm["id"]
            arms.insert(upper, arms.pop(index))
            names = (arm["id"], arm["under"])
            yield slip(new, arm["id"], f"/signals/{signal}/arms", names=names)


# ---- track -------------------------------------------------------------------------------------


def crossover_told_apart(plan: Plan) -> Iterator[Slip]:
    for number, group in enumerate(plan.get("worked_together", [])):
        new = copied(plan)
        del new["worked_together"][number]
        if new.get("levers"):
            for key, lever in plan["levers"].items():
                own = lever.get("points", [])
                if set(own) == set(group):
                    new["levers"][key]["points"] = own[:1]
                    new["levers"][str(len(new["levers"]) + 1)] = {"points": own[1:]}
        names = (*group, *(track for each in group for track in tracks_at(plan, each)))
        yield slip(new, " and ".join(group), "/worked_together", names=names)


def crossover_with_wrong(plan: Plan) -> Iterator[Slip]:
    simple = [n for n, p in plan.get("points", {}).items() if p.get("kind") != "three-way"]
    for number, group in enumerate(plan.get("worked_together", [])):
        for other in simple:
            if other not in group:
                new = copied(plan)
                new["worked_together"][number] = [group[0], other]
                members = (*group, other)
                names = (*members, *(each for name in members for each in tracks_at(plan, name)))
                told = f"{group[0]} with {other} not {group[1]}"
                yield slip(new, told, f"/worked_together/{number}", names=names)


def legs_swapped(plan: Plan) -> Iterator[Slip]:
    for name in plan.get("points", {}):
        legs = ["toe", *lies_of(plan, name)[1]]
        for one, other in ((a, b) for a in legs for b in legs if legs.index(a) < legs.index(b)):
            yield _exchange(plan, f"{name}.{one}", f"{name}.{other}", name)
    for name in plan.get("crossings", {}):
        yield _exchange(plan, f"{name}.a2", f"{name}.b2", name)
        yield _exchange(plan, f"{name}.a1", f"{name}.a2", name)


def _exchange(plan: Plan, one: str, other: str, element: str) -> Slip:
    new = copied(plan)
    names = [element]
    at = []
    for track_id, track in plan["tracks"].items():
        for end in ("up", "down"):
            if track[end] in (one, other):
                new["tracks"][track_id][end] = other if track[end] == one else one
                names.append(track_id)
                at.append(f"/tracks/{track_id}/{end}")
    return slip(new, f"{one} and {other}", *at, names=tuple(names))


def wrong_normal(plan: Plan) -> Iterator[Slip]:
    for name in plan.get("points", {}):
        normal, lies = lies_of(plan, name)
        for lie in lies:
            if lie != normal:
                new = copied(plan)
                new["points"][name]["normal"] = lie
                yield slip(new, f"{name} {lie}", f"/points/{name}/normal", names=(name,))


def running_reversed(plan: Plan) -> Iterator[Slip]:
    # Most findings on a wrong `running` are on the tracks that lead to it.
    for name, track in plan["tracks"].items():
        if track.get("running", "both") != "both":
            new = copied(plan)
            new["tracks"][name]["running"] = OTHER[track["running"]]
            names = (name, *_beside(plan, name), *yards_with(plan, name))
            yield slip(new, name, f"/tracks/{name}/running", names=names)


def running_forgotten(plan: Plan) -> Iterator[Slip]:
    for name, track in plan["tracks"].items():
        if track.get("running", "both") != "both":
            new = copied(plan)
            del new["tracks"][name]["running"]
            names = (name, *_beside(plan, name), *yards_with(plan, name))
            yield slip(new, name, f"/tracks/{name}", names=names)


def stand_forgotten(plan: Plan) -> Iterator[Slip]:
    for name, track in plan["tracks"].items():
        if track.get("stand"):
            new = copied(plan)
            del new["tracks"][name]["stand"]
            yield slip(new, name, f"/tracks/{name}", names=(name,))


def track_turned_round(plan: Plan) -> Iterator[Slip]:
    for name, track in plan["tracks"].items():
        new = copied(plan)
        new["tracks"][name]["up"], new["tracks"][name]["down"] = track["down"], track["up"]
        # The signals of the track turn round with it, so findings on them are in place.
        beside = {arm.signal for arm in arms_of(plan) if arm.key[0] == name}
        names = (name, *(each for signal in beside for each in names_of(plan, signal)))
        yield slip(new, name, f"/tracks/{name}", names=names)


def platform_on_wrong_track(plan: Plan) -> Iterator[Slip]:
    for name, platform in plan.get("platforms", {}).items():
        for index, track in enumerate(platform["tracks"]):
            for other in _beside(plan, track):
                if other not in platform["tracks"]:
                    new = copied(plan)
                    new["platforms"][name]["tracks"][index] = other
                    at = f"/platforms/{name}/tracks/{index}"
                    told = f"{name} on {other} not {track}"
                    # A single letter counts as a word too.
                    own = (name,) if len(name) > 1 else ()
                    yield slip(new, told, at, names=(f"platform {name}", *own, track, other))


def yard_member_forgotten(plan: Plan) -> Iterator[Slip]:
    for name, yard in plan.get("yards", {}).items():
        for kind in ("tracks", "points", "crossings", "turntables"):
            for index, member in enumerate(yard.get(kind, [])):
                new = copied(plan)
                del new["yards"][name][kind][index]
                yield slip(new, f"{member}", f"/yards/{name}", names=(name, member))


def slip_crossing_of_wrong_kind(plan: Plan) -> Iterator[Slip]:
    for name, crossing in plan.get("crossings", {}).items():
        for kind in ("diamond", "single-slip", "double-slip"):
            if kind != crossing.get("kind", "diamond"):
                new = copied(plan)
                new["crossings"][name]["kind"] = kind
                names = (name, *tracks_at(plan, name))
                yield slip(new, f"{name} as {kind}", f"/crossings/{name}", names=names)


Kind = Callable[[Plan], Iterator[Slip]]
