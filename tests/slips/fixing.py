"""Makes the edit that the fix of a finding advises, if it advises a concrete one."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from slips.dressing import copied
from slips.laying import turn_track
from slips.meaning import Plan
from slips.track_lines import OTHER
from trappoint.core.findings import Finding

A_SIGNAL = re.compile(
    r"for (down|up) trains (?:on|at the (?:down|up) end of) ([\w/-]+)"
    r"(?:, at (?:its (down|up) end|([\d.]+) mm))?"
)

LIST_TOO = re.compile(
    r"List (\S+) in yard (\S+) \(or divide it at a joint and list the part at \S+\), and put a "
    r"stop signal for (up|down) trains at its far end"
)
LIST_BETWEEN = re.compile(r"List (\S+) in yard (\S+): no signal can stand")


class Edit(NamedTuple):
    """A plan after a fix, with the pointers of the values written for it."""

    plan: Plan
    at: tuple[str, ...]
    told: str


def edits_of(plan: Plan, finding: Finding) -> list[Edit]:
    """Return the plan after the fix, once for each way that it offers; empty if it is no edit."""
    make = BY_RULE.get(finding.rule)
    return [] if make is None else list(make(plan, finding))


def new_id(plan: Plan) -> str:
    taken = {*plan.get("signals", {})}
    taken |= {arm["id"] for signal in plan.get("signals", {}).values() for arm in signal["arms"]}
    return next(name for n in range(1, 1000) if (name := f"new{n}") not in taken)


def put_signal(plan: Plan, track: str, heading: str, at_mm: float | None = None) -> str:
    """Add a disc that holds trains and gives leave for all their routes; return its pointer."""
    name = new_id(plan)
    signal: dict[str, Any] = {"track": track, "for": heading, "form": "disc"}
    if at_mm is not None:
        signal["at_mm"] = at_mm
    plan.setdefault("signals", {})[name] = signal | {"arms": [{"id": name}]}
    return f"/signals/{name}"


def _signals(plan: Plan, finding: Finding) -> Iterator[Edit]:
    """Yield the plan with signals at the sites in the fix; sites after "or" are another way."""
    fix = finding.fix.split(": ")[0] if finding.rule == "unheld-exit" else finding.fix
    listed = [*LIST_TOO.findall(finding.fix), *LIST_BETWEEN.findall(finding.fix)]
    put, *others = re.split(r"; or, if |, or (?=for )", fix)
    spots = A_SIGNAL.findall(put) if put.startswith("Put a stop signal") else []
    ways = [[*spots[:-1], *A_SIGNAL.findall(other)] for other in others if other.startswith("for")]
    for way in [spots, *ways] if spots else [[]]:
        for divided in (False, True) if listed else (False,):
            new = copied(plan)
            at = [put_signal(new, track, heading, float(mm) if mm else None)
                  for heading, track, _, mm in way]  # fmt: skip
            for track, yard, *heading in listed:
                at += _list_too(new, track, yard, heading, divided)
            if at:
                yield Edit(new, tuple(at), f"{way} {listed} {'divided' if divided else ''}")
    for goal, yard in re.findall(r"if (\S+) belongs to yard (\S+), list it there", finding.fix):
        taken = copied(plan)
        kind = next(k for k in ("points", "crossings", "turntables") if goal in plan.get(k, {}))
        taken["yards"][yard].setdefault(kind, []).append(goal)
        yield Edit(taken, (f"/yards/{yard}/{kind}",), f"{goal} listed in the yard")


def _list_too(
    plan: Plan, track: str, yard: str, heading: list[str], divided: bool
) -> Iterator[str]:
    """List a track in a yard, or its near part, with a signal at the far end."""
    tracks = plan["tracks"]
    if heading and divided:
        away, near = heading[0], OTHER[heading[0]]
        name = f"{track}-near"
        tracks[name] = {away: f"joint:{name}", near: tracks[track][near]}
        if "running" in tracks[track]:
            tracks[name]["running"] = tracks[track]["running"]
        tracks[track][near] = f"joint:{name}"
        track = name
    plan["yards"][yard]["tracks"].append(track)
    yield f"/yards/{yard}/tracks"
    if heading and tracks[track][heading[0]] != "buffer":
        yield put_signal(plan, track, heading[0])


def _other_way(plan: Plan, finding: Finding) -> Iterator[Edit]:
    """Yield the plan with a signal turned round, taken out or allowed, as the fix advises."""
    signal = finding.pointer.split("/")[2]
    if finding.fix.startswith("Turn it round"):
        new = copied(plan)
        new["signals"][signal]["for"] = OTHER[plan["signals"][signal]["for"]]
        yield Edit(new, (f"/signals/{signal}",), "faces the other way")
    if finding.fix.startswith("Take it out"):
        new = copied(plan)
        del new["signals"][signal]
        yield Edit(new, (), "taken out")
    if "change the `running` of" in finding.fix:
        new = copied(plan)
        del new["tracks"][finding.path[1]]["running"]
        yield Edit(new, (f"/signals/{signal}",), "running both ways")
    else:
        yield from _signals(plan, finding)


def _stand(plan: Plan, finding: Finding) -> Iterator[Edit]:
    advice = re.search(r'trains turn back on (\S+), add "stand": true', finding.fix)
    new = copied(plan)
    if advice is not None:
        new["tracks"][advice[1]]["stand"] = True
        yield Edit(new, (f"/tracks/{advice[1]}/stand", finding.pointer), "a stand")
    elif finding.fix.endswith("or take it out."):
        del new["signals"][finding.path[0]]
        yield Edit(new, (), "taken out")


def _one_signal(plan: Plan, finding: Finding) -> Iterator[Edit]:
    """Yield the plan with two signals made one, or with either of them taken out."""
    one, other = finding.path[:2]
    if not finding.fix.startswith("Make them one"):
        for name in (one, other):
            new = copied(plan)
            del new["signals"][name]
            yield Edit(new, (), f"{name} taken out")
        return
    new = copied(plan)
    moved = new["signals"].pop(one)
    where = {key: moved[key] for key in ("track", "for", "at_mm") if key in moved}
    new["signals"][other]["arms"] += [where | arm for arm in moved["arms"]]
    yield Edit(new, (f"/signals/{other}",), f"{one} and {other} one signal")


def _together(plan: Plan, finding: Finding) -> Iterator[Edit]:
    said = re.match(r'Add \["(\S+)", "(\S+)"\] to worked_together', finding.fix)
    if said is None:
        return
    new = copied(plan)
    new.setdefault("worked_together", []).append(list(said.groups()))
    at = (f"/worked_together/{len(new['worked_together']) - 1}", finding.pointer)
    yield Edit(new, at, " with ".join(said.groups()))


def _normal_or_legs(plan: Plan, finding: Finding) -> Iterator[Edit]:
    """Yield the plan with the normal lie of either points changed, or its legs exchanged."""
    for name in finding.path[:2]:
        if plan["points"][name].get("kind") == "three-way":
            continue
        new = copied(plan)
        points = new["points"][name]
        points["normal"] = "left" if points["normal"] == "right" else "right"
        yield Edit(new, (f"/points/{name}/normal",), f"{name} {points['normal']}")
        new = copied(plan)
        legs = {f"{name}.left": f"{name}.right", f"{name}.right": f"{name}.left"}
        for track in new["tracks"].values():
            for end in ("up", "down"):
                track[end] = legs.get(track[end], track[end])
        yield Edit(new, (f"/points/{name}",), f"legs of {name}")


def _turned(plan: Plan, finding: Finding) -> Iterator[Edit]:
    if finding.fix.startswith("Turn round ") and " and more:" not in finding.fix:
        names = re.sub(r" and |, ", " ", finding.fix.removeprefix("Turn round ").split(":")[0])
        new = copied(plan)
        for name in names.split():
            turn_track(new, name)
        yield Edit(new, tuple(f"/tracks/{name}" for name in names.split()), f"{names} turned")


def _bracket(plan: Plan, finding: Finding) -> Iterator[Edit]:
    for mount in ("bracket", "gantry"):
        new = copied(plan)
        new["signals"][finding.path[0]]["mount"] = mount
        yield Edit(new, (finding.pointer,), mount)


def _below(plan: Plan, finding: Finding) -> Iterator[Edit]:
    """Yield the plan with a distant listed after its stop arm, or written under it."""
    distant, stop = finding.path[:2]
    signal, index = finding.pointer.split("/")[2], int(finding.pointer.split("/")[4])
    if finding.fix.startswith("Take "):
        new = copied(plan)
        arms = new["signals"][signal]["arms"]
        del next(arm for arm in arms if arm["id"] == stop)["under"]
        arms[index]["under"] = stop
        yield Edit(new, (f"/signals/{signal}/arms",), f"{distant} under {stop}, not above")
        return
    new = copied(plan)
    arms = new["signals"][signal]["arms"]
    moved = arms.pop(index)
    arms.insert(next(n for n, arm in enumerate(arms) if arm["id"] == stop) + 1, moved)
    yield Edit(new, (f"/signals/{signal}/arms",), f"{distant} after {stop}")
    new = copied(plan)
    new["signals"][signal]["arms"][index]["under"] = stop
    yield Edit(new, (f"/signals/{signal}/arms",), f"{distant} under {stop}")


def _without(key: str) -> Callable[[Plan, Finding], Iterator[Edit]]:
    """Return a function that takes out the key or the entry that a finding points at."""

    def make(plan: Plan, finding: Finding) -> Iterator[Edit]:
        new = copied(plan)
        *way, last = (part.replace("~1", "/") for part in finding.pointer.split("/")[1:])
        holder: Any = new
        for each in way:
            holder = holder[int(each)] if isinstance(holder, list) else holder[each]
        if isinstance(holder, dict):
            holder.pop(last, None)  # If the key is missing, the finding stays, and a test fails.
        else:
            del holder[int(last)]
        yield Edit(new, (), f"{key} taken out")

    return make


def _for_the_road_above(plan: Plan, finding: Finding) -> Iterator[Edit]:
    """Yield the plan with a calling-on arm without its ``to``, or under each stop arm."""
    if finding.fix.startswith("Take its `to` out"):
        yield from _without("to")(plan, finding)
        return
    signal, index = finding.pointer.split("/")[2], int(finding.pointer.split("/")[4])
    for stop in plan["signals"][signal]["arms"]:
        if stop.get("kind", "stop") == "stop":
            new = copied(plan)
            new["signals"][signal]["arms"][index]["under"] = stop["id"]
            yield Edit(new, (finding.pointer,), f"under {stop['id']}")


def _same_lever(plan: Plan, finding: Finding) -> Iterator[Edit]:
    new = copied(plan)
    new.setdefault("worked_together", []).append(list(finding.path[1:]))
    yield Edit(new, ("/worked_together", finding.pointer), "listed under worked_together")


def _all_normal(plan: Plan, finding: Finding) -> Iterator[Edit]:
    """Yield the plan with all points of a group normal in a scene, and with all reverse."""
    scene, *group = finding.path
    for word in (None, "reverse"):
        new = copied(plan)
        points = new["scenes"][scene]["points"]
        for name in group:
            points.pop(name, None)
            if word is not None:
                points[name] = word
        yield Edit(new, (f"/scenes/{scene}/points",), f"all of {group} {word}")


BY_RULE: dict[str, Callable[[Plan, Finding], Iterator[Edit]]] = {
    "unheld-exit": _signals,
    "platform-without-starter": _signals,
    "unreachable-track": _signals,
    "signal-without-route": _other_way,
    "unreachable-signal": _stand,
    "signals-on-one-spot": _one_signal,
    "crossover-not-worked-together": _together,
    "trap-not-worked-together": _together,
    "crossover-never-set": _normal_or_legs,
    "up-meets-up": _turned,
    "mount-too-small": _bracket,
    "distant-above-stop-arm": _below,
    "calling-on-for-another-road": _for_the_road_above,
    "expectation-mismatch": _without("belief"),
    "never-with-mismatch": _without("belief"),
    "lever-splits-group": _same_lever,
    "scene-points-apart": _all_normal,
    "scene-arm-against-points": _without("arm"),
    "scene-road-occupied": _without("arm"),
    "scene-arms-conflict": _without("arm"),
    "scene-distant-too-soon": _without("distant"),
}
"""The function that makes the fixes of each rule, for rules that advise a concrete edit."""
