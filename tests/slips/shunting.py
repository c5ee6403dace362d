"""Slips with shunt arms, subsidiary arms and trap points."""

from __future__ import annotations

from collections.abc import Iterator

from oracle.sections import Sections
from slips.dressing import copied
from slips.kinds import Slip, arms_in, forget_arms, names_of, slip, tracks_at, yards_with
from slips.meaning import Arm, HeadKey, Plan, arms_of, many

Arms = list[Arm]


def _at_spots(plan: Plan) -> dict[HeadKey, Arms]:
    """Return the arms that hold trains, by their spots."""
    found: dict[HeadKey, Arms] = {}
    for arm in arms_of(plan):
        if arm.kind in ("stop", "shunt"):
            found.setdefault(arm.key, []).append(arm)
    return found


def _without(plan: Plan, gone: set[str]) -> Plan:
    """Return a plan without some arms, and without the references to them."""
    new = copied(plan)
    for signal in list(new["signals"]):
        arms = new["signals"][signal]["arms"]
        arms[:] = [arm for arm in arms if arm["id"] not in gone]
        if not arms:
            del new["signals"][signal]
    forget_arms(new, *gone)
    return new


def disc_left_out(plan: Plan) -> Iterator[Slip]:
    """Yield slips: the disc at the foot of a post, or the shunt arm on it, left out."""
    for key, arms in _at_spots(plan).items():
        discs = [arm for arm in arms if arm.kind == "shunt"]
        if 0 < len(discs) < len(arms):
            new = _without(plan, {arm.id for arm in discs})
            names = (key[0], *(name for arm in arms for name in (arm.id, arm.signal)))
            at = (f"/signals/{arm.signal}" for arm in arms)
            yield slip(new, " and ".join(arm.id for arm in discs), *at, names=names)


def yard_exit_left_out(plan: Plan) -> Iterator[Slip]:
    """Yield slips: the signal at a way out of a yard left out, with all on its spot."""
    exits = {(h.track, h.heading, h.at) for h in Sections(plan).exits.values()}
    for key, arms in _at_spots(plan).items():
        if key in exits:
            gone = {arm.id for arm in arms}
            names = (key[0], *yards_with(plan, key[0]), *gone, *(arm.signal for arm in arms))
            told = f"{arms[0].signal} for {key[1]} on {key[0]}"
            yield slip(_without(plan, gone), told, f"/tracks/{key[0]}", names=names)


def stop_made_shunt(plan: Plan) -> Iterator[Slip]:
    yield from _made(plan, "stop", "shunt")


def shunt_made_stop(plan: Plan) -> Iterator[Slip]:
    yield from _made(plan, "shunt", "stop")


def _made(plan: Plan, kind: str, other: str) -> Iterator[Slip]:
    """Yield slips: all arms of one kind on a spot written as arms of the other kind."""
    for key, arms in _at_spots(plan).items():
        changed = [arm for arm in arms if arm.kind == kind]
        if changed:
            new = copied(plan)
            for arm in changed:
                new["signals"][arm.signal]["arms"][arm.number]["kind"] = other
            names = (*(name for arm in arms for name in names_of(plan, arm.signal)), key[0])
            at = (f"/signals/{arm.signal}" for arm in changed)
            yield slip(new, " and ".join(arm.id for arm in changed), *at, names=names)


def subsidiary_for_wrong_road(plan: Plan) -> Iterator[Slip]:
    """Yield slips: a subsidiary arm with a ``to`` that its driver does not expect."""
    goals = [*plan["tracks"], *plan.get("platforms", {}), *plan.get("yards", {})]
    main = {signal for signal, _, _ in arms_in(plan, "stop")}
    for signal, index, arm in arms_in(plan, "shunt", "calling-on"):
        to = many(arm.get("to"))
        near = [name for other in plan["signals"][signal]["arms"] for name in many(other.get("to"))]
        for goal in dict.fromkeys([*near, *goals] if signal in main else ()):
            if goal not in to:
                new = copied(plan)
                new["signals"][signal]["arms"][index]["to"] = goal
                told = f"{arm['id']} to {goal} not {to}"
                at = f"/signals/{signal}/arms/{index}"
                yield slip(new, told, at, names=(arm["id"], signal))


# ---- trap points -------------------------------------------------------------------------------


def _traps(plan: Plan) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield trap points, each with the tracks that meet it and the ids of its place."""
    for name, points in plan.get("points", {}).items():
        if points.get("trap"):
            tracks = tracks_at(plan, name)
            yards = [yard for track in tracks for yard in yards_with(plan, track)]
            together = [each for group in plan.get("worked_together", []) if name in group
                        for each in group]  # fmt: skip
            yield name, (name, *tracks, *yards, *together)


def trap_turned(plan: Plan) -> Iterator[Slip]:
    for name, names in _traps(plan):
        new = copied(plan)
        points = new["points"][name]
        points["normal"] = "left" if points["normal"] == "right" else "right"
        yield slip(new, f"{name} {points['normal']}", f"/points/{name}/normal", names=names)


def trap_forgotten(plan: Plan) -> Iterator[Slip]:
    for name, names in _traps(plan):
        new = copied(plan)
        del new["points"][name]["trap"]
        yield slip(new, name, f"/points/{name}", names=names)


def trap_told_apart(plan: Plan) -> Iterator[Slip]:
    """Yield slips: a list of ``worked_together`` with trap points left out."""
    traps = dict(_traps(plan))
    for number, group in enumerate(plan.get("worked_together", [])):
        named = [name for each in group for name in traps.get(each, ())]
        if named:
            new = copied(plan)
            del new["worked_together"][number]
            put_on_levers_of_their_own(new, group)
            yield slip(new, " and ".join(group), "/worked_together", names=(*group, *named))


def put_on_levers_of_their_own(plan: Plan, group: list[str]) -> None:
    """Divide the points of one lever between two levers."""
    for number, lever in list(plan.get("levers", {}).items()):
        own = lever.get("points", [])
        if set(own) == set(group):
            plan["levers"][number]["points"] = own[:1]
            for each in own[1:]:
                plan["levers"][str(len(plan["levers"]) + 1)] = {"points": [each]}
