"""Slips in the beliefs, the scenes and the lever frame of a plan."""

from __future__ import annotations

from collections.abc import Iterator

from slips.dressing import copied
from slips.kinds import Slip, arms_in, slip
from slips.meaning import Plan
from slips.opinion import lie_named, lies_of


def belief_wrong(plan: Plan) -> Iterator[Slip]:
    every = [arm["id"] for _, _, arm in arms_in(plan, "stop", "shunt", "calling-on")]
    for signal, index, arm in arms_in(plan, "stop", "shunt", "calling-on"):
        here = f"/signals/{signal}/arms/{index}"
        for name, word in arm.get("expects", {}).items():
            for lie in lies_of(plan, name)[1]:
                if lie != lie_named(plan, name, word):
                    new = copied(plan)
                    new["signals"][signal]["arms"][index]["expects"][name] = lie
                    at = f"{here}/expects/{name}"
                    yield slip(new, f"{arm['id']} {name} {lie}", at)
        for number in range(len(arm.get("never_with", ()))):
            for other in every:
                if other not in arm["never_with"] and other != arm["id"]:
                    new = copied(plan)
                    new["signals"][signal]["arms"][index]["never_with"][number] = other
                    at = f"{here}/never_with/{number}"
                    yield slip(new, f"{arm['id']} never with {other}", at)
    duties = {duty for signal in plan["signals"].values() for duty in signal.get("duties", [])}
    for signal, value in plan["signals"].items():
        for index, duty in enumerate(value.get("duties", [])):
            for other in sorted(duties):
                if other not in value["duties"] and other.split()[0] == duty.split()[0]:
                    new = copied(plan)
                    new["signals"][signal]["duties"][index] = other
                    at = f"/signals/{signal}/duties/{index}"
                    yield slip(new, f"{signal} {other}", at)


def scene_wrong_arm(plan: Plan) -> Iterator[Slip]:
    arms = [arm["id"] for _, _, arm in arms_in(plan, "stop", "shunt", "distant", "calling-on")]
    for name, scene in plan.get("scenes", {}).items():
        for index, arm in enumerate(scene.get("off", ())):
            for other in arms:
                if other not in scene["off"]:
                    new = copied(plan)
                    new["scenes"][name]["off"][index] = other
                    told = f"{name}: {other} not {arm}"
                    yield slip(new, told, f"/scenes/{name}/off/{index}", names=(name,))


def scene_points_forgotten(plan: Plan) -> Iterator[Slip]:
    for name, scene in plan.get("scenes", {}).items():
        for points in scene.get("points", {}):
            new = copied(plan)
            del new["scenes"][name]["points"][points]
            yield slip(new, f"{name}: {points}", f"/scenes/{name}", names=(name,))


def scene_train_elsewhere(plan: Plan) -> Iterator[Slip]:
    for name, scene in plan.get("scenes", {}).items():
        for train in scene.get("trains", {}):
            for other in [*plan["tracks"], *plan.get("yards", {})]:
                if other not in scene["trains"]:
                    new = copied(plan)
                    trains = new["scenes"][name]["trains"]
                    trains[other] = trains.pop(train)
                    told = f"{name}: {other} not {train}"
                    yield slip(new, told, f"/scenes/{name}", names=(name,))


def lever_works_wrong(plan: Plan) -> Iterator[Slip]:
    for number, lever in plan.get("levers", {}).items():
        for key in ("points", "arms"):
            for other, value in plan["levers"].items():
                if other != number and lever.get(key) and value.get(key):
                    new = copied(plan)
                    new["levers"][number][key] = value[key]
                    names = (number, other, *lever[key], *value[key])
                    yield slip(new, f"{number} as {other}", f"/levers/{number}", names=names)
