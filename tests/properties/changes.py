"""Changes of a plan that must not change its report."""

from __future__ import annotations

import copy
import random
import re
from typing import Any

Plan = dict[str, Any]

OTHER_END = {"up": "down", "down": "up"}
OTHER_SIDE = {"left": "right", "right": "left"}
LENGTH = 3000
"""The length in mm of tracks without a length that have signals with an at_mm."""


# --- another order


def reordered(rng: random.Random, value: Any) -> Any:
    """Return the plan with the keys of every map in random order; lists keep their order."""
    if isinstance(value, dict):
        keys = list(value)
        rng.shuffle(keys)
        return {key: reordered(rng, value[key]) for key in keys}
    if isinstance(value, list):
        return [reordered(rng, each) for each in value]
    return value


# --- up for down


def posts(plan: Plan) -> list[tuple[dict[str, Any], str]]:
    """Yield everything that may have an at_mm, with the track along which it is measured."""
    found = []
    for signal in plan.get("signals", {}).values():
        found.append((signal, signal["track"]))
        found += [(arm, arm.get("track", signal["track"])) for arm in signal["arms"]]
    return found


def with_lengths(plan: Plan) -> Plan:
    """Return the plan with a length for each track that has anything with an at_mm."""
    result = copy.deepcopy(plan)
    for post, track in posts(result):
        if "at_mm" in post:
            result["tracks"][track].setdefault("length_mm", LENGTH)
    return result


def all_on_their_tracks(plan: Plan) -> bool:
    """Return whether every signal is on a known track and within its length."""
    return all(
        track in plan["tracks"] and post.get("at_mm", 0) <= plan["tracks"][track]["length_mm"]
        for post, track in posts(plan)
        if "at_mm" in post
    )


def turned(plan: Plan) -> Plan:
    """Return the plan with up and down exchanged; each track with an at_mm must have a length."""
    result = copy.deepcopy(plan)
    for post, track in posts(result):
        if "for" in post:
            post["for"] = OTHER_END[post["for"]]
        if "at_mm" in post:
            post["at_mm"] = result["tracks"][track]["length_mm"] - post["at_mm"]
    for track in result["tracks"].values():
        track["up"], track["down"] = track["down"], track["up"]
        if track.get("running", "both") != "both":
            track["running"] = OTHER_END[track["running"]]
        if "gradient_percent" in track:
            track["gradient_percent"] = -track["gradient_percent"]
        if "curve" in track:
            track["curve"] = OTHER_SIDE[track["curve"]]
    for entry in result.get("accept", []):
        parts = entry["at"].split("/")
        if parts[1:2] == ["tracks"]:
            entry["at"] = "/".join((*parts[:3], *(OTHER_END.get(part, part) for part in parts[3:])))
    return result


# --- left for right


def mirrored(plan: Plan) -> Plan:
    """Return the plan with left and right exchanged: legs, lies, sides, the order of dolls.

    A crossing stays as it is, because its legs have no sides.
    """
    result = copy.deepcopy(plan)
    points = result.get("points", {})
    for each in points.values():
        curves = each.pop("curves", None)
        if curves:
            each["curves"] = {
                OTHER_SIDE.get(leg, leg): {**curve, "hand": OTHER_SIDE[curve["hand"]]}
                for leg, curve in curves.items()
            }
        each["normal"] = OTHER_SIDE.get(each["normal"], each["normal"])
    for track in result["tracks"].values():
        if "curve" in track:
            track["curve"] = OTHER_SIDE[track["curve"]]
        for end in OTHER_END:
            name, _, leg = track[end].partition(".")
            if name in points and leg in OTHER_SIDE:
                track[end] = f"{name}.{OTHER_SIDE[leg]}"
    for signal in result.get("signals", {}).values():
        if "side" in signal:
            signal["side"] = OTHER_SIDE[signal["side"]]
        for arm in signal["arms"]:
            _mirror_lies(arm.get("expects", {}))
        _mirror_dolls(signal["arms"])
    for scene in result.get("scenes", {}).values():
        _mirror_lies(scene.get("points", {}))
    for entry in result.get("accept", []):
        entry["at"] = _at_its_arm(plan, result, entry["at"])
    return result


def _mirror_lies(lies: dict[str, str]) -> None:
    for name, lie in lies.items():
        lies[name] = OTHER_SIDE.get(lie, lie)


def _mirror_dolls(arms: list[dict[str, Any]]) -> None:
    dolls: dict[str, int] = {}
    for arm in arms:
        beside = max(dolls.values(), default=0) + 1
        dolls[arm["id"]] = arm.get("doll") or dolls.get(arm.get("under", "")) or beside
    last = max(dolls.values())
    if last > 1:
        for arm in arms:
            arm["doll"] = last + 1 - dolls[arm["id"]]
        arms.sort(key=lambda arm: arm["doll"])


def _at_its_arm(before: Plan, after: Plan, at: str) -> str:
    """Return a pointer to an arm, changed to point at the same arm in the new order."""
    parts = at.split("/")
    if parts[1:2] != ["signals"] or parts[3:4] != ["arms"] or len(parts) < 5:
        return at
    arm = before["signals"][parts[2]]["arms"][int(parts[4])]["id"]
    ids = [each["id"] for each in after["signals"][parts[2]]["arms"]]
    return "/".join((*parts[:4], str(ids.index(arm)), *parts[5:]))


# --- other ids

KINDS = ("tracks", "points", "crossings", "turntables", "platforms", "signals")


class Renaming:
    """Return new ids for everything that has one, in no relation to the order of the old ids."""

    def __init__(self, rng: random.Random, plan: Plan) -> None:
        self.plan = plan
        self._numbers = list(range(1000, 9999))
        rng.shuffle(self._numbers)
        self._new: dict[tuple[str, str], str] = {}
        self._old: dict[str, str] = {}
        for kind in (*KINDS, "yards", "trains", "scenes", "sessions"):
            self._name_all(kind, plan.get(kind, {}))
        for signal in plan.get("signals", {}).values():
            self._name_all("arms", [arm["id"] for arm in signal["arms"]])
        ends = [track[end] for track in plan["tracks"].values() for end in OTHER_END]
        for text in ends:
            kind, _, name = text.partition(":")
            # A joint with one end is mostly misspelt, and its fix depends on the spelling.
            if kind == "edge" or ends.count(text) == 2:
                self._name_all(kind, [name])

    def _name_all(self, kind: str, names: Any) -> None:
        for name in names:
            if (kind, name) not in self._new:
                new = f"zq{self._numbers.pop()}"
                self._new[kind, name] = new
                self._old[new] = name

    def back(self, text: str) -> str:
        """Return a text with the old ids in place of the new ones."""
        return re.sub(r"zq\d{4}", lambda found: self._old[found.group()], text)

    def _of(self, name: str, *kinds: str) -> str:
        """Return the new id for an id, of the first of these kinds that has it."""
        return next((self._new[kind, name] for kind in kinds if (kind, name) in self._new), name)

    def _switch(self, name: str) -> str:
        return self._of(name, "points", "crossings")

    def _end(self, text: str) -> str:
        kind, _, name = text.partition(":")
        if name:
            return f"{kind}:{self._of(name, kind)}"
        element, dot, leg = text.partition(".")
        return f"{self._of(element, 'points', 'crossings', 'turntables')}{dot}{leg}"

    def apply(self) -> Plan:
        """Return the plan with new ids, in the old order."""
        result = copy.deepcopy(self.plan)
        for track in result["tracks"].values():
            track["up"], track["down"] = self._end(track["up"]), self._end(track["down"])
        self._groups(result)
        for signal in result.get("signals", {}).values():
            self._signal(signal)
        for scene in result.get("scenes", {}).values():
            self._scene(scene)
        for session in result.get("sessions", {}).values():
            self._session(session)
        for entry in result.get("accept", []):
            entry["at"] = self._pointer(entry["at"])
        for kind in (*KINDS, "yards", "trains", "scenes", "sessions"):
            if kind in result:
                result[kind] = {self._of(k, kind): value for k, value in result[kind].items()}
        return result

    def _groups(self, result: Plan) -> None:
        """Rename the references in platforms, yards, levers and ``worked_together``."""
        for platform in result.get("platforms", {}).values():
            platform["tracks"] = [self._of(name, "tracks") for name in platform["tracks"]]
        for yard in result.get("yards", {}).values():
            for kind in ("tracks", "points", "crossings", "turntables"):
                if kind in yard:
                    yard[kind] = [self._of(name, kind) for name in yard[kind]]
        for group in result.get("worked_together", []):
            group[:] = map(self._switch, group)
        for lever in result.get("levers", {}).values():
            for kind, new in (("points", self._switch), ("arms", self._arm)):
                if kind in lever:
                    lever[kind] = [new(name) for name in lever[kind]]

    def _arm(self, name: str) -> str:
        return self._of(name, "arms")

    def _signal(self, signal: dict[str, Any]) -> None:
        signal["track"] = self._of(signal["track"], "tracks")
        if "duties" in signal:
            signal["duties"] = [self._duty(duty) for duty in signal["duties"]]
        for arm in signal["arms"]:
            arm["id"] = self._arm(arm["id"])
            if "track" in arm:
                arm["track"] = self._of(arm["track"], "tracks")
            if "under" in arm:
                arm["under"] = self._arm(arm["under"])
            for key, kinds in (
                ("to", ("tracks", "platforms", "yards")),
                ("repeats", ("arms",)),
                ("never_with", ("arms",)),
            ):
                if isinstance(arm.get(key), str):
                    arm[key] = self._of(arm[key], *kinds)
                elif key in arm:
                    arm[key] = [self._of(name, *kinds) for name in arm[key]]
            if "expects" in arm:
                arm["expects"] = {self._switch(k): lie for k, lie in arm["expects"].items()}

    def _duty(self, duty: str) -> str:
        *words, name = duty.split()
        kinds = {
            "platform": ("platforms",),
            "holds": ("tracks", "yards"),
        }.get(words[-1] if words else "", ("points", "crossings", "turntables"))
        return " ".join((*words, self._of(name, *kinds)))

    def _scene(self, scene: dict[str, Any]) -> None:
        if "points" in scene:
            scene["points"] = {self._switch(name): lie for name, lie in scene["points"].items()}
        if "off" in scene:
            scene["off"] = [self._arm(name) for name in scene["off"]]
        if "trains" in scene:
            scene["trains"] = self._trains(scene["trains"])

    def _trains(self, trains: dict[str, Any]) -> dict[str, Any]:
        return {
            self._of(place, "tracks", "yards"): self._of(train, "trains")
            if isinstance(train, str)
            else train
            for place, train in trains.items()
        }

    def _session(self, session: dict[str, Any]) -> None:
        if "trains" in session:
            session["trains"] = self._trains(session["trains"])
        for move in session["moves"]:
            move["train"] = self._of(move["train"], "trains")
            for key in ("from", "to", "via"):
                if isinstance(move.get(key), str):
                    move[key] = self._whereabouts(move[key])
                elif key in move:
                    move[key] = [self._whereabouts(name) for name in move[key]]
            if "arm" in move:
                move["arm"] = self._arm(move["arm"])

    def _whereabouts(self, name: str) -> str:
        return self._end(name) if ":" in name else self._of(name, "tracks", "platforms", "yards")

    def _pointer(self, at: str) -> str:
        parts = at.split("/")
        if len(parts) == 1:
            return self._of(at, *KINDS, "yards", "scenes", "sessions")
        if len(parts) > 2:
            parts[2] = self._of(parts[2], parts[1])
        if parts[3:4] == ["points"] or parts[5:6] == ["expects"]:
            parts[-1] = self._switch(parts[-1])
        if parts[3:4] == ["trains"]:
            parts[-1] = self._of(parts[-1], "tracks", "yards")
        return "/".join(parts)
