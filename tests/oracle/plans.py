"""Random plans, valid by the format, about half of which hold.

`random_plan` joins elements at random, so that every kind of element meets every other in ways
that nobody would think of. `large_plan` strings together what clubs do lay: loops, ladders,
crossovers, sheds.
"""

from __future__ import annotations

import random
from typing import Any

from oracle.shapes import lay_line
from oracle.signalling import signal_plan

__all__ = ["large_plan", "random_plan"]

Plan = dict[str, Any]

KINDS = {
    "turnout": 10,
    "three-way": 2,
    "diamond": 2,
    "single-slip": 2,
    "double-slip": 2,
    "turntable": 3,
}
LEGS = {
    "turnout": ("toe", "left", "right"),
    "three-way": ("toe", "left", "middle", "right"),
    "diamond": ("a1", "a2", "b1", "b2"),
    "single-slip": ("a1", "a2", "b1", "b2"),
    "double-slip": ("a1", "a2", "b1", "b2"),
}


def random_plan(
    rng: random.Random, elements: tuple[int, int] = (1, 6), flaws: int | None = None
) -> Plan:
    """A random plan of so many elements (least, most).

    It is signalled so that it holds, but for yards, then `flaws` random changes are made to its
    signals (default: a random small number).
    """
    number = rng.randint(*elements)
    plan: Plan = {"format": "trappoint-layout/1", "tracks": {}}
    legs = _draw_elements(rng, plan, number)
    _lay_tracks(rng, plan, _draw_ends(rng, legs, number))
    _work_together(rng, plan)
    if rng.random() < 0.15:
        _draw_yard(rng, plan)
    _dress_tracks(rng, plan)
    flaws = _flaws(rng, number) if flaws is None else flaws
    before_elements = rng.choice((0.5, 0.8, 1.0))
    signal_plan(rng, plan, flaws, before_elements, shunts=rng.choice((0.0, 0.1, 0.2, 0.4, 0.7)))
    return plan


def large_plan(rng: random.Random, points: int = 40, flaws: int | None = None) -> Plan:
    """A plan of the shapes that clubs lay, with about so many points.

    Signalled so that it holds, but for `flaws` random changes (default: none in half of the
    plans, otherwise a few).
    """
    plan = lay_line(rng, points)
    if flaws is None:
        flaws = rng.choice((0, 0, 0, 1, 2, 5))
    # With many more shunt arms the routes over them grow too many for the search to follow.
    signal_plan(rng, plan, flaws, before_elements=0.5, shunts=rng.choice((0.0, 0.05, 0.1)))
    return plan


def _flaws(rng: random.Random, elements: int) -> int:
    return rng.choice((0, 1, 1, 2, 2, 3, 4, 5 + elements))


def _draw_elements(rng: random.Random, plan: Plan, number: int) -> list[str]:
    """Put elements into the plan; the legs that tracks must meet."""
    legs = []
    for kind in rng.choices(list(KINDS), weights=list(KINDS.values()), k=number):
        if kind == "turntable":
            element_id = f"t{len(plan.setdefault('turntables', {})) + 1}"
            roads = [f"r{n + 1}" for n in range(rng.choice((1, 2, 2, 3, 3, 4)))]
            plan["turntables"][element_id] = {"roads": roads}
        elif kind in ("turnout", "three-way"):
            element_id = f"p{len(plan.setdefault('points', {})) + 1}"
            roads = list(LEGS[kind])
            plan["points"][element_id] = {"normal": rng.choice(roads[1:])}
            if kind == "three-way" or rng.random() < 0.1:
                plan["points"][element_id]["kind"] = kind
        else:
            element_id = f"x{len(plan.setdefault('crossings', {})) + 1}"
            roads = list(LEGS[kind])
            plan["crossings"][element_id] = {} if kind == "diamond" else {"kind": kind}
        legs += [f"{element_id}.{road}" for road in roads]
    return legs


def _draw_ends(rng: random.Random, legs: list[str], elements: int) -> list[str]:
    """What the track ends meet: all legs, and buffers, edges and joints to go with them."""
    lone = rng.randint(2, 4) + round(len(legs) * rng.uniform(0.0, 0.5))
    joints = rng.randint(0, 2 + elements // 2)
    if (len(legs) + lone) % 2:
        lone += 1
    ends = list(legs)
    for number in range(lone):
        ends.append("buffer" if rng.random() < 0.5 else f"edge:e{number + 1}")
    for number in range(joints):
        ends += [f"joint:j{number + 1}"] * 2
    return ends


def _lay_tracks(rng: random.Random, plan: Plan, ends: list[str]) -> None:
    rng.shuffle(ends)
    # Most lone ends and joints are paired with legs: a track between two buffers says little.
    ends.sort(key=lambda text: "." in text if rng.random() < 0.7 else rng.random() < 0.5)
    half = len(ends) // 2
    pairs = list(zip(ends[:half], reversed(ends[half:]), strict=True))
    rng.shuffle(pairs)
    for number, pair in enumerate(pairs):
        up, down = rng.sample(pair, 2)
        plan["tracks"][f"k{number + 1}"] = {"up": up, "down": down}


def _work_together(rng: random.Random, plan: Plan) -> None:
    points = plan.get("points", {})
    crossings = plan.get("crossings", {})
    members = [each for each in points if points[each].get("kind") != "three-way"]
    members += [each for each in crossings if "slip" in crossings[each].get("kind", "")]
    if len(members) < 2 or rng.random() < 0.6:
        return
    lists = [rng.sample(members, 2)]
    if len(members) > 2 and rng.random() < 0.3:
        lists.append(rng.sample(members, rng.choice((2, 3))))
    plan["worked_together"] = lists


def _draw_yard(rng: random.Random, plan: Plan) -> None:
    """Make one yard of a few tracks and elements that meet, grown from a random track."""
    meets: dict[str, set[str]] = {}
    for track_id, track in plan["tracks"].items():
        for end in ("up", "down"):
            near = track[end] if track[end].startswith("joint:") else track[end].partition(".")[0]
            if near != "buffer" and not near.startswith("edge:"):
                meets.setdefault(track_id, set()).add(near)
                meets.setdefault(near, set()).add(track_id)
    if not meets:
        return
    inside = [rng.choice(sorted(meets))]
    for _ in range(rng.randint(0, 5)):
        inside.append(rng.choice(sorted(meets[rng.choice(inside)])))
    yard = {
        kind: [each for each in plan.get(kind, {}) if each in inside]
        for kind in ("tracks", "points", "crossings", "turntables")
    }
    yard = {kind: members for kind, members in yard.items() if members}
    if yard:
        plan["yards"] = {"y1": yard}


def _dress_tracks(rng: random.Random, plan: Plan) -> None:
    """Give tracks lengths, one-way running, platforms, and stands against the usual.

    Where stands are few, two trains meet only after longer movements, if at all.
    """
    few_stands = rng.random() < 0.6
    two = rng.sample(list(plan["tracks"]), min(2, len(plan["tracks"])))
    for track_id, track in plan["tracks"].items():
        if rng.random() < 0.8:
            track["length_mm"] = rng.randrange(200, 2000, 50)
        if rng.random() < 0.08:
            track["running"] = rng.choice(("down", "up"))
        elif rng.random() < 0.05:
            track["running"] = "both"
        if few_stands:
            track["stand"] = track_id in two or rng.random() < 0.2
        elif rng.random() < 0.15:
            track["stand"] = rng.random() < 0.7
    if rng.random() < 0.4:
        beside = rng.sample(list(plan["tracks"]), min(len(plan["tracks"]), rng.choice((1, 1, 2))))
        plan["platforms"] = {"A": {"tracks": beside, "length_mm": rng.randrange(200, 900, 50)}}
