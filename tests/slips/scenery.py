"""The faults of distants and scenes, derived without the library."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from oracle.heads import Head
from slips.meaning import Arm, Meaning, Road, arms_of, many
from slips.opinion import Fault, fault, lie_named, lies_of


def stop_arms(meaning: Meaning, head: Head) -> list[Arm]:
    key = meaning.key(head)
    return [arm for arm in meaning.arms if arm.key == key and arm.kind == "stop"]


def _ends(meaning: Meaning, roads: list[Road]) -> list[Head]:
    found = [meaning.facing(road.spots[-1]) for road in roads]
    return list(dict.fromkeys(head for head in found if head is not None))


def above(meaning: Meaning, distant: Arm) -> Arm | None:
    """Return the stop arm on the same doll as a distant, or None."""
    under = distant.value.get("under")
    for arm in meaning.arms:
        with_it = arm.id == under or (under is None and arm.doll == distant.doll)
        if with_it and (arm.key, arm.kind) == (distant.key, "stop"):
            return arm
    return None


def first_heads(meaning: Meaning, distant: Arm) -> list[Head]:
    """Return the heads with a stop arm that a train meets first beyond a distant."""
    over = above(meaning, distant)
    if over is not None:
        return _ends(meaning, meaning.speaks[over.id] or [])
    own = meaning.head_of(distant)
    if own is not None:
        return _ends(meaning, meaning.own(distant.key, "stop"))
    start = meaning.beside(distant.key)
    if start is None or not meaning.allows(start[0].track, start[1]):
        return []
    found: dict[Head, None] = {}
    queue = [meaning.spot(*start)]
    for spot in queue:
        faced = meaning.facing(spot)
        if faced is not None and "stop" in faced.kinds:
            found[faced] = None
            continue
        for way in meaning.ways_out.get(spot, ()):
            queue += [move.to for move in way.moves if move.to not in queue]
    return list(found)


def spoken(meaning: Meaning, distant: Arm) -> set[str]:
    """Return the stop arms in a distant's ``repeats`` that it may repeat."""
    named = many(distant.value.get("repeats"))
    heads = first_heads(meaning, distant)
    if not named:
        return {arm.id for head in heads for arm in stop_arms(meaning, head)}
    reached = set()
    for head in heads:
        for arm in stop_arms(meaning, head):
            if arm.id in named:
                reached.add(arm.id)
                onward = _ends(meaning, meaning.speaks[arm.id] or [])
                heads += [each for each in onward if each not in heads]
    return reached


def distant_faults(meaning: Meaning) -> Iterator[Fault]:
    for distant in arms_of(meaning.plan):
        if distant.kind == "distant":
            if not first_heads(meaning, distant):
                yield fault("distant-without-stop-ahead", distant.id)
            over = above(meaning, distant)
            right = spoken(meaning, distant) | ({over.id} if over is not None else set())
            for name in many(distant.value.get("repeats")):
                if name not in right:
                    yield fault("distant-repeats-wrong-arm", distant.id, name)


# ---- scenes ------------------------------------------------------------------------------------


def scene_faults(meaning: Meaning) -> Iterator[Fault]:
    for scene_id in meaning.plan.get("scenes", {}):
        yield from _Scene(meaning, scene_id).faults()


class _Scene:
    """The state in a scene: the lies of all points, and the roads set for each arm."""

    def __init__(self, meaning: Meaning, scene_id: str) -> None:
        self.meaning = meaning
        self.id = scene_id
        scene = meaning.plan["scenes"][scene_id]
        self.points: dict[str, str] = scene.get("points", {})
        self.trains = list(scene.get("trains", {}))
        self.names = list(scene.get("off", []))
        self.off = [name for name in self.names if name in meaning.by_id]
        self.set = {name: self.set_roads(name) for name in self.off}

    def lie(self, name: str) -> str | None:
        return lie_named(self.meaning.plan, name, self.points.get(name, "normal"))

    def is_set(self, road: Road) -> bool:
        return all(self.lie(name) == lie for name, lie in road.lies.items())

    def set_roads(self, arm: str) -> list[Road]:
        return [road for road in self.meaning.speaks[arm] or [] if self.is_set(road)]

    def faults(self) -> Iterator[Fault]:
        plan = self.meaning.plan
        for group in plan.get("worked_together", []):
            words = {self.lie(name) == lies_of(plan, name)[0] for name in group}
            if len(words) > 1:
                yield fault("scene-points-apart", self.id)
        at = [(self.meaning.places_of(name), name) for name in self.trains
              if name in self.meaning.tracks]  # fmt: skip
        for (mine, one), (theirs, other) in combinations(at, 2):
            if mine == theirs and len(mine) == 1 and mine[0] in self.meaning.sections:
                yield fault("scene-trains-not-parted", self.id, one, other)
        for number, name in enumerate(self.off):
            if self.meaning.speaks[name] and not self.set[name]:
                yield fault("scene-arm-against-points", self.id, name)
            if self._blocked(name):
                yield fault("scene-road-occupied", self.id, name)
            if self._shunt_on(name):
                yield fault("scene-shunt-signal-on", self.id, name)
            for other in self.off[:number]:
                pairs = [(a, b) for a in self.set[name] for b in self.set[other]]
                if other != name and any(self.meaning.conflict(a, b) for a, b in pairs):
                    yield fault("scene-arms-conflict", self.id, name, other)
        for arm in arms_of(plan):
            if arm.kind == "distant" and arm.id in self.names and not self.clear(arm):
                yield fault("scene-distant-too-soon", self.id, arm.id)

    def _blocked(self, name: str) -> bool:
        if self.meaning.by_id[name].kind == "calling-on":
            return False
        for train in self.trains:
            if train in self.meaning.plan.get("yards", {}):
                parts = [self.meaning.yard_place(train)]
            elif train in self.meaning.tracks:
                parts = self.meaning.places_of(train)
            else:
                continue
            if any(road.places.issuperset(parts) for road in self.set[name]):
                return True
        return False

    def _shunt_on(self, name: str) -> bool:
        for road in self.set[name]:
            for key in road.past:
                arms = [each for each in self.off if self.meaning.by_id[each].key == key]
                roads = [shunt for each in arms for shunt in self.set[each]]
                if not any(self.meaning.passes_along(road, shunt) for shunt in roads):
                    return True
        return False

    def clear(self, distant: Arm) -> bool:
        """Return whether a distant may be off: all arms that it repeats on the set road are off."""
        over = above(self.meaning, distant)
        if over is not None and over.id not in self.off:
            return False
        heads = first_heads(self.meaning, distant)
        if over is not None:
            heads = _ends(self.meaning, self.set[over.id])
        speaks_for = spoken(self.meaning, distant)
        return bool(heads) and all(self._chain(head, speaks_for) for head in heads)

    def _chain(self, head: Head, speaks_for: set[str]) -> bool:
        """Return whether a repeated arm is off at a head, and so on along its road."""
        here = [arm.id for arm in stop_arms(self.meaning, head) if arm.id in speaks_for]
        if not here:
            return False
        done: set[str] = set()
        while here:
            off = next((name for name in here if name in self.off), None)
            if off is None:
                return False
            done.add(off)
            onward = _ends(self.meaning, self.set[off])
            here = [
                arm.id
                for each in onward
                for arm in stop_arms(self.meaning, each)
                if arm.id in speaks_for and arm.id not in done
            ]
        return True
