"""Random plans, valid by the format; about half of them hold.

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
    """Return a random plan; `elements` is the least and the greatest number of its elements.

    It is signalled so that it holds in nine cases of ten: yards may lie open, traps lead astray.
    Then `flaws` random changes are made to its signals, traps, lever groups, yards and stands
    (default: a random small number).
    """
    number = rng.randint(*elements)
    plan: Plan = {"format": "trappoint-layout/1", "tracks": {}}
    legs, laid = _draw_elements(rng, plan, number)
    unheld = _draw_throat(rng, plan, legs, laid) if rng.random() < 0.15 else set()
    _lay_tracks(rng, plan, _draw_ends(rng, legs, number), laid)
    _divide_tracks(rng, plan)
    if rng.random() < 0.25:
        _draw_ring(rng, plan)
    _work_together(rng, plan)
    if rng.random() < 0.35:
        _draw_yard(rng, plan)
    _dress_tracks(rng, plan)
    flaws = _flaws(rng, number) if flaws is None else flaws
    before_elements = rng.choice((0.5, 0.8, 1.0))
    shunts = rng.choice((0.0, 0.1, 0.2, 0.4, 0.7))
    signal_plan(rng, plan, flaws, before_elements, shunts, unheld)
    return plan


def large_plan(rng: random.Random, points: int = 40, flaws: int | None = None) -> Plan:
    """Return a plan of shapes that clubs lay, with about this number of points.

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
    return rng.choice((0, 1, 1, 2, 2, 2, 3, 3, 4, 3 + elements))


def _draw_elements(rng: random.Random, plan: Plan, number: int) -> tuple[list[str], list[Plan]]:
    """Put elements into the plan; the legs that tracks must meet, and tracks for trap points."""
    legs: list[str] = []
    laid: list[Plan] = []
    for kind in rng.choices(list(KINDS), weights=list(KINDS.values()), k=number):
        if kind == "turntable":
            element_id = f"t{len(plan.setdefault('turntables', {})) + 1}"
            roads = [f"r{n + 1}" for n in range(rng.choice((1, 2, 2, 3, 3, 4)))]
            plan["turntables"][element_id] = {"roads": roads}
        elif kind in ("turnout", "three-way"):
            element_id = f"p{len(plan.setdefault('points', {})) + 1}"
            roads = list(LEGS[kind])
            points = plan["points"][element_id] = {"normal": rng.choice(roads[1:])}
            if kind == "three-way" or rng.random() < 0.1:
                points["kind"] = kind
            if rng.random() < 0.25:
                laid += _make_a_trap(rng, element_id, points, roads)
        else:
            element_id = f"x{len(plan.setdefault('crossings', {})) + 1}"
            roads = list(LEGS[kind])
            plan["crossings"][element_id] = {} if kind == "diamond" else {"kind": kind}
        legs += [f"{element_id}.{road}" for road in roads]
    return legs, laid


def _make_a_trap(rng: random.Random, element_id: str, points: Plan, roads: list[str]) -> list[Plan]:
    """Make points a trap, most with a drag at the normal leg and a siding at the toe."""
    points["trap"] = True
    laid: list[Plan] = []
    if rng.random() < 0.1:
        return laid
    into_drag = points["normal"] if rng.random() < 0.85 else rng.choice(roads[1:])
    roads.remove(into_drag)
    drag: Plan = {"up": f"{element_id}.{into_drag}", "down": "buffer"}
    if rng.random() < 0.9:
        drag["stand"] = False
    laid.append(drag)
    if rng.random() < 0.6:
        roads.remove("toe")
        siding: Plan = {"up": f"{element_id}.toe", "down": "buffer"}
        siding |= {"stand": True} if rng.random() < 0.6 else {}
        laid.append(siding)
    for track in laid:
        if rng.random() < 0.5:
            track["up"], track["down"] = track["down"], track["up"]
    return laid


def _draw_throat(rng: random.Random, plan: Plan, legs: list[str], laid: list[Plan]) -> set[str]:
    """Two points toe to toe, worked together, with a siding that needs no signal at its exit.

    A train that strays from the siding runs on to the track behind the other points. All others
    run over the throat with the points reverse, and on until they are clear of it. One of the
    points is a trap, so that the other lies normal too while nobody needs the two reverse.
    Returns the legs before which no signal belongs.
    """
    points = plan.setdefault("points", {})
    near, far = f"p{len(points) + 1}", f"p{len(points) + 2}"
    stray = {each: rng.choice(("left", "right")) for each in (near, far)}
    other = {each: "left" if leg == "right" else "right" for each, leg in stray.items()}
    normal = other if rng.random() < 0.1 else stray
    points |= {each: {"normal": leg} for each, leg in normal.items()}
    if rng.random() < 0.9:
        points[rng.choice((near, far))]["trap"] = True
    if rng.random() < 0.9:
        plan["worked_together"] = [[near, far]]
    laid.append({"up": f"{near}.toe", "down": f"{far}.toe", "stand": False})
    laid.append({"up": "buffer", "down": f"{near}.{stray[near]}", "stand": True})
    if not legs:
        legs += ["joint:throat", "joint:throat"]
    outside = rng.choice(legs)
    legs.remove(outside)
    laid.append({"up": f"{far}.{stray[far]}", "down": outside, "stand": False})
    legs += [f"{each}.{leg}" for each, leg in other.items()]
    return {f"{each}.{leg}" for each in stray for leg in ("toe", stray[each])}


def _draw_ends(rng: random.Random, legs: list[str], elements: int) -> list[str]:
    """Return the things that track ends meet: all legs, and some buffers, edges and joints."""
    lone = rng.randint(2, 4) + round(len(legs) * rng.uniform(0.0, 0.5))
    joints = rng.randint(0, 2 + elements // 2)
    if (len(legs) + lone) % 2:
        lone += 1
    ends = list(legs)
    buffers = rng.choice((0.5, 0.7, 0.9))
    for number in range(lone):
        ends.append("buffer" if rng.random() < buffers else f"edge:e{number + 1}")
    for number in range(joints):
        ends += [f"joint:j{number + 1}"] * 2
    return ends


def _lay_tracks(rng: random.Random, plan: Plan, ends: list[str], laid: list[Plan]) -> None:
    """Join the ends by tracks, at random; the tracks for trap points are `laid` already."""
    rng.shuffle(ends)
    # Most lone ends and joints are paired with legs: a track between two buffers says little.
    ends.sort(key=lambda text: "." in text if rng.random() < 0.7 else rng.random() < 0.5)
    half = len(ends) // 2
    pairs = list(zip(ends[:half], reversed(ends[half:]), strict=True))
    tracks = [dict(zip(("up", "down"), rng.sample(pair, 2), strict=True)) for pair in pairs]
    tracks += laid
    rng.shuffle(tracks)
    for number, track in enumerate(tracks):
        plan["tracks"][f"k{number + 1}"] = track


def _divide_tracks(rng: random.Random, plan: Plan) -> None:
    """Put joints into some tracks, and turn the parts round as it comes."""
    share = rng.choice((0.0, 0.0, 0.1, 0.3))
    for track in list(plan["tracks"].values()):
        if track.get("stand") is not False and rng.random() < share:
            joint = f"joint:d{len(plan['tracks'])}"
            rest = {"up": joint, "down": track["down"]}
            if rng.random() < 0.4:
                rest["up"], rest["down"] = rest["down"], rest["up"]
            track["down"] = joint
            plan["tracks"][f"k{len(plan['tracks']) + 1}"] = rest
            if rng.random() < 0.2:
                track["up"], track["down"] = track["down"], track["up"]


def _draw_ring(rng: random.Random, plan: Plan) -> None:
    """A circle of tracks that meet at joints alone."""
    number = rng.choice((1, 2, 2, 3))
    joints = [f"joint:r{n + 1}" for n in range(number)]
    for n, joint in enumerate(joints):
        ends = [joint, joints[(n + 1) % number]]
        if rng.random() < 0.3:
            ends.reverse()
        plan["tracks"][f"k{len(plan['tracks']) + 1}"] = {"up": ends[0], "down": ends[1]}


def _work_together(rng: random.Random, plan: Plan) -> None:
    points = plan.get("points", {})
    crossings = plan.get("crossings", {})
    members = [each for each in points if points[each].get("kind") != "three-way"]
    members += [each for each in crossings if "slip" in crossings[each].get("kind", "")]
    traps = [each for each in members if points.get(each, {}).get("trap")]
    if len(members) < 2 or "worked_together" in plan or rng.random() < (0.4 if traps else 0.5):
        return
    lists = [rng.sample(members, 2)]
    if traps and rng.random() < 0.6:
        trap = rng.choice(traps)
        lists = [[trap, rng.choice([each for each in members if each != trap])]]
    if len(members) > 2 and rng.random() < 0.3:
        lists.append(rng.sample(members, rng.choice((2, 3))))
    plan["worked_together"] = lists


def _draw_yard(rng: random.Random, plan: Plan) -> None:
    """Make one yard of a few tracks and elements that meet, grown from a random track.

    Most yards contain all tracks at their elements; else no signal can hold a train that leaves.
    """
    meets = _what_meets_what(plan)
    if not meets:
        return
    inside = [rng.choice(sorted(meets))]
    for _ in range(rng.randint(0, 5)):
        inside.append(rng.choice(sorted(meets[rng.choice(inside)])))
    if rng.random() < 0.85:
        inside += [each for near in inside if near not in plan["tracks"] for each in meets[near]]
    yard = {
        kind: [each for each in plan.get(kind, {}) if each in inside]
        for kind in ("tracks", "points", "crossings", "turntables")
    }
    yard = {kind: members for kind, members in yard.items() if members}
    if yard:
        plan["yards"] = {"y1": yard}


def _what_meets_what(plan: Plan) -> dict[str, set[str]]:
    meets: dict[str, set[str]] = {}
    for track_id, track in plan["tracks"].items():
        for end in ("up", "down"):
            near = track[end] if track[end].startswith("joint:") else track[end].partition(".")[0]
            if near != "buffer" and not near.startswith("edge:"):
                meets.setdefault(track_id, set()).add(near)
                meets.setdefault(near, set()).add(track_id)
    return meets


def _dress_tracks(rng: random.Random, plan: Plan) -> None:
    """Give tracks lengths, one-way running, platforms, and stands against the usual.

    Where stands are few, two trains meet only after longer movements, if at all.
    """
    few_stands = rng.random() < 0.65
    one_way = rng.choice((0.03, 0.08, 0.2))
    two = rng.sample(list(plan["tracks"]), min(2, len(plan["tracks"])))
    for track_id, track in plan["tracks"].items():
        if rng.random() < 0.8:
            track["length_mm"] = rng.randrange(200, 2000, 50)
        if rng.random() < one_way:
            track["running"] = rng.choice(("down", "up"))
        elif rng.random() < 0.05:
            track["running"] = "both"
        if "stand" in track:
            continue
        if few_stands:
            track["stand"] = track_id in two or rng.random() < 0.1
        elif rng.random() < 0.15:
            track["stand"] = rng.random() < 0.7
    if rng.random() < 0.4:
        beside = rng.sample(list(plan["tracks"]), min(len(plan["tracks"]), rng.choice((1, 1, 2))))
        plan["platforms"] = {"A": {"tracks": beside, "length_mm": rng.randrange(200, 900, 50)}}
    if rng.random() < 0.3:
        lengths = rng.sample(range(50, 600, 10), rng.choice((1, 2)))
        plan["trains"] = {f"n{n + 1}": {"length_mm": each} for n, each in enumerate(lengths)}
        if rng.random() < 0.2:
            plan["trains"]["n9"] = {"longest_coach_mm": 40}
