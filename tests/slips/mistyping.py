"""Typing mistakes in an id, a leg or a joint: two letters exchanged, or one wrong or missing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from slips.dressing import copied
from slips.kinds import Slip, slip
from slips.meaning import Plan

Place = tuple[str | int, ...]

NOT_IDS = frozenset(
    ("$schema", "format", "title", "scale", "note", "name", "because", "rule", "running", "for",
     "mount", "form", "side", "kind", "normal", "measure", "up", "down", "duties", "id")
)  # fmt: skip
"""Keys whose values are no references; ``up`` and ``down`` have a kind of slip of their own."""


def _values(value: Any, at: Place = ()) -> Iterator[tuple[Place, str]]:
    """Yield every reference in a plan, with the keys that lead to it."""
    if isinstance(value, str):
        yield at, value
    elif isinstance(value, list):
        for index, each in enumerate(value):
            yield from _values(each, (*at, index))
    elif isinstance(value, dict):
        for key, each in value.items():
            lies = len(at) >= 2 and at[-1] in ("expects", "points") and at[0] != "yards"
            if key not in NOT_IDS and not lies and key != "roads":
                yield from _values(each, (*at, key))


def _mistyped(name: str) -> Iterator[str]:
    """Return a name with two letters exchanged, without its last letter, or with another one."""
    for place in range(len(name) - 1):
        if name[place] != name[place + 1]:
            yield name[:place] + name[place + 1] + name[place] + name[place + 2 :]
    if len(name) > 1:
        yield name[:-1]
    last = name[-1]
    yield name[:-1] + (chr(ord(last) + 1) if last not in "9zZ" else "1")


def _replaced(plan: Plan, at: Place, text: str) -> Plan:
    new = copied(plan)
    holder: Any = new
    for key in at[:-1]:
        holder = holder[key]
    holder[at[-1]] = text
    return new


def _pointer(at: Place) -> str:
    return "".join(f"/{key}" for key in at)


def _well_formed(name: str) -> bool:
    return name[0].isalnum() and name[-1].isalnum()


def id_mistyped(plan: Plan) -> Iterator[Slip]:
    for at, name in _values({key: plan[key] for key in plan if key != "tracks"}):
        for wrong in _mistyped(name):
            if _well_formed(wrong):
                new = _replaced(plan, at, wrong)
                yield slip(new, f"{_pointer(at)} {wrong}", _pointer(at), names=_owner(plan, at))


def _owner(plan: Plan, at: Place) -> tuple[str, ...]:
    """Return the ids of the thing with the mistyped name: a signal with its arms, or the entry."""
    if at[0] == "signals":
        signal = plan["signals"][at[1]]
        arms = signal["arms"] if len(at) < 4 else [signal["arms"][int(at[3])]]
        tracks = [signal["track"]] if at[2] == "track" else []
        return (str(at[1]), *(arm["id"] for arm in arms), *tracks)
    if at[0] == "worked_together":
        return tuple(plan["worked_together"][int(at[1])])
    value: Any = plan
    for key in at:
        value = value[key]
    return (str(at[1]), str(value))


def key_mistyped(plan: Plan) -> Iterator[Slip]:
    """Yield slips in ids that are keys: points of an ``expects``, trains of a scene."""
    for signal, value in plan["signals"].items():
        for index, arm in enumerate(value["arms"]):
            for name in arm.get("expects", {}):
                for wrong in _mistyped(name):
                    if _well_formed(wrong) and wrong not in arm["expects"]:
                        new = copied(plan)
                        expects = new["signals"][signal]["arms"][index]["expects"]
                        expects[wrong] = expects.pop(name)
                        at = f"/signals/{signal}/arms/{index}/expects/{wrong}"
                        yield slip(new, at, at)
    for scene, value in plan.get("scenes", {}).items():
        for key in ("points", "trains"):
            for name in value.get(key, {}):
                for wrong in _mistyped(name):
                    if _well_formed(wrong) and wrong not in value[key]:
                        new = copied(plan)
                        named = new["scenes"][scene][key]
                        named[wrong] = named.pop(name)
                        at = f"/scenes/{scene}"
                        yield slip(new, f"{at}/{key}/{wrong}", at, names=(scene,))


def leg_mistyped(plan: Plan) -> Iterator[Slip]:
    for track_id, track in plan["tracks"].items():
        for end in ("up", "down"):
            element, dot, leg = track[end].partition(".")
            if not dot:
                continue
            at = f"/tracks/{track_id}/{end}"
            wrong = [f"{element}.{each}" for each in (*_mistyped(leg), *_other_legs(leg))]
            wrong += [f"{each}.{leg}" for each in _mistyped(element) if _well_formed(each)]
            for text in wrong:
                new = _replaced(plan, ("tracks", track_id, end), text)
                names = (track_id, element, text.partition(".")[0])
                yield slip(new, f"{at} {text}", at, names=names)


def _other_legs(leg: str) -> list[str]:
    legs = {"left": "right", "right": "left", "a1": "b1", "b1": "a1", "a2": "b2", "b2": "a2"}
    return [legs[leg]] if leg in legs else []


def joint_mistyped(plan: Plan) -> Iterator[Slip]:
    for track_id, track in plan["tracks"].items():
        for end in ("up", "down"):
            kind, colon, name = track[end].partition(":")
            if kind == "joint" and colon:
                at = f"/tracks/{track_id}/{end}"
                for wrong in _mistyped(name):
                    if _well_formed(wrong):
                        new = _replaced(plan, ("tracks", track_id, end), f"joint:{wrong}")
                        names = (track_id, f"joint:{name}", f"joint:{wrong}")
                        yield slip(new, f"{at} joint:{wrong}", at, names=names)


def arm_id_mistyped(plan: Plan) -> Iterator[Slip]:
    """Yield slips in the id of an arm itself."""
    for signal, value in plan["signals"].items():
        for index, arm in enumerate(value["arms"]):
            for wrong in _mistyped(arm["id"]):
                if _well_formed(wrong):
                    new = _replaced(plan, ("signals", signal, "arms", index, "id"), wrong)
                    at = f"/signals/{signal}/arms/{index}"
                    names = (arm["id"], wrong, signal)
                    yield slip(new, f"{signal}: {wrong} not {arm['id']}", at, names=names)
