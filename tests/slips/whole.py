"""The faults that prevent a verdict: unknown ids, unmet legs and open joints.

They are derived from the plain JSON of a plan of the right form, without the library.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from oracle.heads import HOLDING_KINDS, NotJudgedError
from oracle.sections import Sections
from slips.meaning import HeadKey, Plan, arms_of, many
from slips.opinion import Fault, fault, lie_named

KINDS = ("points", "crossings", "turntables")


def legs_of(plan: Plan) -> list[str]:
    """Yield every leg of every element, as a track end has it."""
    legs = []
    for name, points in plan.get("points", {}).items():
        legs += [f"{name}.toe", f"{name}.left", f"{name}.right"]
        legs += [f"{name}.middle"] * (points.get("kind") == "three-way")
    for name in plan.get("crossings", {}):
        legs += [f"{name}.{leg}" for leg in ("a1", "a2", "b1", "b2")]
    for name, turntable in plan.get("turntables", {}).items():
        legs += [f"{name}.{road}" for road in turntable["roads"]]
    return legs


def broken(plan: Plan) -> list[Fault]:
    """Yield the faults that prevent a verdict on a plan."""
    unknown = list(_unknown(plan))
    found = [*unknown, *_ends(plan)]
    ids = Counter(arm["id"] for signal in plan["signals"].values() for arm in signal["arms"])
    found += [fault("arm-id-twice", name) for name, count in ids.items() if count > 1]
    if not unknown:
        found += [*_spots(plan), *_lies(plan)]
    for kind in ("tracks", *KINDS):
        members = Counter(m for yard in plan.get("yards", {}).values() for m in yard.get(kind, []))
        found += [fault("in-two-yards", name) for name, count in members.items() if count > 1]
    return found or list(_yards(plan))


def _unknown(plan: Plan) -> Iterator[Fault]:
    switches = {*plan.get("points", {})} | {
        name for name, value in plan.get("crossings", {}).items() if "slip" in value.get("kind", "")
    }
    arms = {arm["id"] for signal in plan["signals"].values() for arm in signal["arms"]}
    tracks, platforms, yards = ({*plan.get(k, {})} for k in ("tracks", "platforms", "yards"))
    wanted: list[tuple[str, set[str]]] = []
    for platform in plan.get("platforms", {}).values():
        wanted += [(name, tracks) for name in platform["tracks"]]
    for signal in plan["signals"].values():
        wanted.append((signal["track"], tracks))
        for arm in signal["arms"]:
            wanted.append((arm.get("track", signal["track"]), tracks))
            wanted += [(name, tracks | platforms | yards) for name in many(arm.get("to"))]
            wanted += [(n, arms) for n in many(arm.get("repeats")) + many(arm.get("under"))]
            wanted += [(name, arms) for name in arm.get("never_with", [])]
            wanted += [(name, switches) for name in arm.get("expects", {})]
    for group in plan.get("worked_together", []):
        wanted += [(name, switches) for name in group]
    for yard in plan.get("yards", {}).values():
        for kind in ("tracks", *KINDS):
            wanted += [(name, {*plan.get(kind, {})}) for name in yard.get(kind, [])]
    for lever in plan.get("levers", {}).values():
        wanted += [(name, switches) for name in lever.get("points", [])]
        wanted += [(name, arms) for name in lever.get("arms", [])]
    for scene in plan.get("scenes", {}).values():
        wanted += [(name, switches) for name in scene.get("points", {})]
        wanted += [(name, arms) for name in scene.get("off", [])]
        wanted += [(name, tracks | yards) for name in scene.get("trains", {})]
        trains = {*plan.get("trains", {})}
        wanted += [(t, trains) for t in scene.get("trains", {}).values() if isinstance(t, str)]
    yield from (fault("unknown-reference", name) for name, known in wanted if name not in known)


def _ends(plan: Plan) -> Iterator[Fault]:
    legs = legs_of(plan)
    met = Counter(track[end] for track in plan["tracks"].values() for end in ("up", "down"))
    for leg in legs:
        if not met[leg]:
            yield fault("unmet-leg", leg.partition(".")[0])
        if met[leg] > 1:
            yield fault("leg-met-twice", leg.partition(".")[0])
    for text, count in met.items():
        if text.startswith("joint:"):
            if count != 2:
                yield fault("open-joint")
        elif "." in text and text not in legs:
            yield fault("unknown-reference", text.partition(".")[0])


def _spots(plan: Plan) -> Iterator[Fault]:
    taken: dict[tuple[str, HeadKey], str] = {}
    for arm in arms_of(plan):
        track, heading, at = arm.key
        length = plan["tracks"][track].get("length_mm")
        beyond = at is not None and length is not None and at > length
        if beyond or (at is not None and at == (0 if heading == "down" else length)):
            yield fault("signal-off-its-track", arm.signal)
        if arm.kind in HOLDING_KINDS and taken.setdefault((arm.kind, arm.key), arm.signal) != (
            arm.signal
        ):
            yield fault("signals-on-one-spot", arm.signal)


def _yards(plan: Plan) -> Iterator[Fault]:
    """Yield tracks of yards whose exit heads leave no part inside the yard."""
    try:
        Sections(plan)
    except NotJudgedError as error:
        found = re.fullmatch(r"the exit heads of (.+) leave no part of it in the yard", str(error))
        if found is None:
            raise
        yield fault("yard-exits-overlap", found[1])


def _lies(plan: Plan) -> Iterator[Fault]:
    for name, points in plan.get("points", {}).items():
        if points["normal"] == "middle" and points.get("kind") != "three-way":
            yield fault("no-such-lie", name)
    words = [pair for arm in arms_of(plan) for pair in arm.value.get("expects", {}).items()]
    scenes = plan.get("scenes", {}).values()
    words += [pair for scene in scenes for pair in scene.get("points", {}).items()]
    for name, word in words:
        if lie_named(plan, name, word) is None:
            yield fault("no-such-lie", name)
    for group in plan.get("worked_together", []):
        for name in group:
            if plan.get("points", {}).get(name, {}).get("kind") == "three-way":
                yield fault("no-such-lie", name)
