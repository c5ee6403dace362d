"""The faults of lines between points, and of up and down, derived without the library."""

from __future__ import annotations

from collections.abc import Iterator

from slips.meaning import Meaning, Plan, arms_of
from slips.opinion import Fault, fault

ACROSS = {"a1": "a2", "a2": "a1", "b1": "b2", "b2": "b1"}
OTHER = {"up": "down", "down": "up"}
SLIPS = {"single-slip": [("a1", "b2")], "double-slip": [("a1", "b2"), ("b1", "a2")]}


def line_faults(meaning: Meaning) -> Iterator[Fault]:
    yield from _crossovers(meaning)
    if _turned(meaning.plan):
        yield fault("up-meets-up")


def _ends(plan: Plan) -> dict[str, list[tuple[str, str]]]:
    ends: dict[str, list[tuple[str, str]]] = {}
    for track_id, track in plan["tracks"].items():
        for end in ("up", "down"):
            ends.setdefault(track[end], []).append((track_id, end))
    return ends


def links(plan: Plan) -> Iterator[tuple[list[str], tuple[str, str], tuple[str, str]]]:
    """Yield the lines between legs of two points: the tracks, and twice points and leg.

    They run over joints and straight across diamonds.
    """
    ends = _ends(plan)
    points = plan.get("points", {})
    for name, value in points.items():
        for leg in ("left", "middle", "right"):
            if leg == "middle" and value.get("kind") != "three-way":
                continue
            line, text = _follow(plan, ends, f"{name}.{leg}")
            other, _, other_leg = text.partition(".")
            if other in points and other_leg != "toe" and other > name:
                yield line, (name, leg), (other, other_leg)


def _follow(plan: Plan, ends: dict[str, list[tuple[str, str]]], text: str) -> tuple[list[str], str]:
    line: list[str] = []
    track_id, end = ends[text][0]
    while track_id not in line:
        line.append(track_id)
        far = OTHER[end]
        text = plan["tracks"][track_id][far]
        name, _, leg = text.partition(".")
        crossing = plan.get("crossings", {}).get(name)
        if text.startswith("joint:"):
            track_id, end = next(each for each in ends[text] if each != (track_id, far))
        elif crossing is not None and crossing.get("kind", "diamond") == "diamond":
            track_id, end = ends[f"{name}.{ACROSS[leg]}"][0]
        else:
            return line, text
    return line, "buffer"


def _crossovers(meaning: Meaning) -> Iterator[Fault]:
    plan = meaning.plan
    signalled = {arm.key[0] for arm in arms_of(plan)}
    points = plan.get("points", {})
    for line, (one, leg), (other, other_leg) in links(plan):
        simple = all(points[each].get("kind") != "three-way" for each in (one, other))
        reverse = [points[one]["normal"] != leg, points[other]["normal"] != other_leg]
        together = any({one, other} <= set(group) for group in plan.get("worked_together", []))
        if together and reverse[0] != reverse[1]:
            yield fault("crossover-never-set", one, other)
        if not all(reverse) or meaning.group_of[one] == meaning.group_of[other] or not simple:
            continue
        if any(t in signalled or meaning.stand_said(t) for t in line):
            continue
        traps = [each for each in (one, other) if points[each].get("trap")]
        if len(traps) == 1:
            yield fault("trap-not-worked-together", one, other)
        elif not traps and not _loop(plan, one, other):
            yield fault("crossover-not-worked-together", one, other)


def _loop(plan: Plan, one: str, other: str) -> bool:
    """Return whether the normal legs of two points are the two ends of one track."""
    legs = {f"{each}.{plan['points'][each]['normal']}" for each in (one, other)}
    return any({track["up"], track["down"]} == legs for track in plan["tracks"].values())


def meetings(plan: Plan) -> Iterator[tuple[tuple[str, str], tuple[str, str]]]:
    """Yield the pairs of track ends between which a train may run, without turntables."""
    ends = _ends(plan)
    for text, met in ends.items():
        if text.startswith("joint:"):
            yield met[0], met[1]
    for name, points in plan.get("points", {}).items():
        legs = ["left", "right", *(["middle"] if points.get("kind") == "three-way" else [])]
        yield from ((ends[f"{name}.toe"][0], ends[f"{name}.{leg}"][0]) for leg in legs)
    for name, crossing in plan.get("crossings", {}).items():
        pairs = [("a1", "a2"), ("b1", "b2"), *SLIPS.get(crossing.get("kind", "diamond"), [])]
        yield from ((ends[f"{name}.{one}"][0], ends[f"{name}.{two}"][0]) for one, two in pairs)


def senses(plan: Plan) -> list[tuple[dict[str, bool], bool]]:
    """Yield the connected parts of a plan: the sense of each track, and whether all agree."""
    beside: dict[str, list[tuple[str, bool]]] = {track: [] for track in plan["tracks"]}
    for (one, end), (other, other_end) in meetings(plan):
        beside[one].append((other, end != other_end))
        beside[other].append((one, end != other_end))
    parts: list[tuple[dict[str, bool], bool]] = []
    done: set[str] = set()
    for track in plan["tracks"]:
        if track in done:
            continue
        sense = {track: True}
        agree = True
        queue = [track]
        for each in queue:
            for other, keeps in beside[each]:
                if other not in sense:
                    sense[other] = sense[each] == keeps
                    queue.append(other)
                agree = agree and sense[other] == (sense[each] == keeps)
        done |= sense.keys()
        parts.append((sense, agree))
    return parts


def _turned(plan: Plan) -> bool:
    return any(agree and not all(sense.values()) for sense, agree in senses(plan))
