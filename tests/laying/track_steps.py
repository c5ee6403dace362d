"""The steps that lay the track of a plan from nothing, found from the plan.

Track grows from its outer ends: where a track ends at an element that is not there yet, the element
is put in at that end. Where it is there already, the two ends are joined and the joint is taken
out. Each step is done at once on a plan of its own, which shows what the step has laid.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from trappoint.laying.steps import lay

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

Step = dict[str, Any]
End = tuple[str, str]
"""A track and ``up`` or ``down``."""

OTHER = {"up": "down", "down": "up", "left": "right", "right": "left"}
ACROSS = {"a1": "a2", "a2": "a1", "b1": "b2", "b2": "b1"}


def steps_of_track(plan: Mapping[str, Any]) -> list[Step]:
    """Return the steps that lay the tracks, points, crossings and turntables of a plan."""
    growing = _Growing(plan)
    growing.grow()
    return [*growing.steps, *_particulars(plan)]


class _Growing:
    def __init__(self, plan: Mapping[str, Any]) -> None:
        self.plan = plan
        self.steps: list[Step] = []
        self.text: str | None = None
        self.laid: set[str] = set()
        """The tracks of the plan that are there."""
        self.placed: set[str] = set()
        """The elements that are there."""
        self.pending: list[End] = []
        """Ends that still meet a buffer in place of a leg or a joint."""
        self.joined: set[str] = set()
        self.spare = 0

    def do(self, verb: str, **measures: Any) -> None:
        step = {"do": verb, **{key.removesuffix("_"): each for key, each in measures.items()}}
        self.text = lay(self.text, [step]).text
        self.steps.append(step)

    @property
    def now(self) -> dict[str, dict[str, str]]:
        """The tracks that are there."""
        found: dict[str, dict[str, str]] = json.loads(self.text or "{}")["tracks"]
        return found

    def met(self, leg: str) -> End:
        """Return the track end that meets a leg now."""
        return next((key, end) for key, each in self.now.items() for end in OTHER
                    if each.get(end) == leg)  # fmt: skip

    def wanted(self, leg: str) -> End:
        """Return the track end that meets a leg in the plan."""
        tracks = self.plan["tracks"].items()
        return next((key, end) for key, each in tracks for end in ("up", "down")
                    if each[end] == leg)  # fmt: skip

    def grow(self) -> None:
        tracks = self.plan["tracks"]
        for key in sorted(tracks, key=lambda key: not any(_outer(tracks[key][e]) for e in _ENDS)):
            if key not in self.laid:
                self.line(key)
            while self.pending:
                track, end = self.pending.pop(0)
                text = tracks[track][end]
                if text.startswith("joint:"):
                    self.joint(track, end, text)
                elif self.now[track][end] != text:
                    self.element(track, end, text)

    def line(self, key: str) -> None:
        """Lay a track with its outer ends; the others are buffers for now."""
        ends = {end: self.plan["tracks"][key][end] for end in _ENDS}
        now = {end: text if _outer(text) else "buffer" for end, text in ends.items()}
        self.do("lay-line", track=key, **now)
        self.laid.add(key)
        self.pending += [(key, end) for end in _ENDS if not _outer(ends[end])]

    def joint(self, track: str, end: str, text: str) -> None:
        if text in self.joined:
            return
        self.joined.add(text)
        ends = [(key, e) for key, each in self.plan["tracks"].items() for e in _ENDS
                if each[e] == text]  # fmt: skip
        other = next(each for each in ends if each != (track, end))
        if other[0] not in self.laid:
            self.line(other[0])
        self.do("join-ends", track=track, end=end, to=other[0], to_end=other[1],
                joint=text.partition(":")[2])  # fmt: skip

    def element(self, track: str, end: str, text: str) -> None:
        """Put in the element at an end, and see to the track at each of its legs."""
        key, _, leg = text.partition(".")
        assert key not in self.placed, "the ends at its legs were seen to when it was put in"
        self.placed.add(key)
        if key in self.plan.get("points", {}):
            legs = self.points(track, end, key, leg)
        elif key in self.plan.get("crossings", {}):
            legs = self.crossing(track, end, key, leg)
        else:
            legs = self.turntable(track, end, key, leg)
        for each in legs:
            if self.met(f"{key}.{each}") != self.wanted(f"{key}.{each}"):
                self.see_to(f"{key}.{each}")

    def points(self, track: str, end: str, key: str, leg: str) -> list[str]:
        points = self.plan["points"][key]
        three = points.get("kind") == "three-way"
        if three and leg in ("left", "right"):
            track, leg = self.apart(), "middle"
        for_ = end if leg == "toe" else OTHER[end]
        if three:
            self.do("put-in-three-way-points", track=track, at=end, for_=for_, points=key)
            return ["toe", "left", "middle", "right"]
        straight = points["normal"] if leg == "toe" else leg
        self.spare += 1
        self.do("put-in-points", track=track, at=end, for_=for_, hand=OTHER[straight], points=key,
                leg=f"spare-{self.spare}")  # fmt: skip
        return ["toe", "left", "right"]

    def apart(self) -> str:
        """Lay a line that is joined to the others later; return its id."""
        self.spare += 1
        self.do("lay-line", track=f"spare-{self.spare}", up="buffer", down="buffer")
        return f"spare-{self.spare}"

    def crossing(self, track: str, end: str, key: str, leg: str) -> list[str]:
        kind = self.plan["crossings"][key].get("kind", "diamond")
        if (end == "down") != leg.endswith("1"):  # Its neighbours lie the other way round.
            track = self.apart()
        other = self.apart()
        one, two = (track, other) if leg.startswith("a") else (other, track)
        at = {"at": end} if one == track else {"other_at": end}
        self.do("put-in-crossing", track=one, other=two, kind=kind, crossing=key, **at)
        return list(ACROSS)

    def turntable(self, track: str, end: str, key: str, leg: str) -> list[str]:
        roads = self.plan["turntables"][key]["roads"]
        self.do("put-in-turntable", track=track, end=end, roads=len(roads) - 1, turntable=key)
        names = [leg, *(road for road in roads if road != leg)]
        for number in range(len(roads), 0, -1):
            self.do("rename-road", turntable=key, road=str(number), to=f"road-{number}")
        for number, name in enumerate(names, 1):
            self.do("rename-road", turntable=key, road=f"road-{number}", to=name)
        return names

    def see_to(self, leg: str) -> None:
        """Let the right track meet a leg: the stub there gets its id, or is joined to it."""
        stub, end = self.met(leg)
        key, wanted = self.wanted(leg)
        if end != wanted:
            self.do("turn-round", track=stub)
        if key in self.laid:
            if stub == key:
                return
            self.do("join-ends", track=key, end=wanted, to=stub, to_end=OTHER[wanted])
            self.do("take-out-joint", track=key, end=wanted)
            kept = self.met(leg)[0]
            if kept != key:
                self.do("rename", at=f"tracks/{kept}", to=key)
            if (key, wanted) in self.pending:
                self.pending.remove((key, wanted))
            return
        if stub != key:
            self.do("rename", at=f"tracks/{stub}", to=key)
        self.laid.add(key)
        far = self.plan["tracks"][key][OTHER[wanted]]
        if far.startswith("edge:"):
            self.do("make-edge", track=key, end=OTHER[wanted], edge=far.partition(":")[2])
        elif far != "buffer":
            self.pending.append((key, OTHER[wanted]))


_ENDS = ("up", "down")


def _outer(text: str) -> bool:
    return text == "buffer" or text.startswith("edge:")


# --- the measures of the track


def _particulars(plan: Mapping[str, Any]) -> Iterator[Step]:
    for key, track in plan["tracks"].items():
        yield from _track(key, track)
    for key, points in plan.get("points", {}).items():
        yield from _points(key, points)
    for key, crossing in plan.get("crossings", {}).items():
        more = {name: crossing[name] for name in ("leg_mm", "measure") if name in crossing}
        yield from _angle(key, crossing)
        yield from _described("crossing", key, more, crossing)
    for key, table in plan.get("turntables", {}).items():
        yield from _described(
            "turntable", key, {k: table[k] for k in ("kind",) if k in table}, table
        )
    for kind in ("tracks", "points", "crossings", "turntables"):
        if kind in plan:
            yield {"do": "put-in-order", "kind": kind, "ids": list(plan[kind])}


def _track(key: str, track: Mapping[str, Any]) -> Iterator[Step]:
    if "running" in track:
        yield {"do": "run", "track": key, "running": track["running"]}
    if "stand" in track:
        yield {"do": "stand", "track": key, "stand": "yes" if track["stand"] else "no"}
    if "length_mm" in track:
        yield {"do": "set-length", "track": key, "length_mm": track["length_mm"]}
    names = ("radius_mm", "curve", "gradient_percent", "rank", "name", "note")
    more = {name: track[name] for name in names if name in track}
    if "draw" in track:
        more["lane"] = track["draw"]["lane"]
    if more:
        yield {"do": "describe-track", "track": key, **more}


def _points(key: str, points: Mapping[str, Any]) -> Iterator[Step]:
    yield {"do": "set-normal", "points": key, "normal": points["normal"]}
    if "trap" in points:
        yield {"do": "set-trap", "points": key, "trap": points["trap"]}
    yield from _angle(key, points)
    names = ("leg_mm", "toe_mm", "measure", "lock")
    more = {name: points[name] for name in names if name in points}
    yield from _described("points", key, more, points)
    for leg, curve in points.get("curves", {}).items():
        yield {"do": "set-leg-curve", "points": key, "leg": leg, **curve}


def _angle(key: str, thing: Mapping[str, Any]) -> Iterator[Step]:
    for name in ("crossing_number", "angle_degrees"):
        if name in thing:
            yield {"do": "set-angle", "of": key, name: thing[name]}


def _described(
    one: str, key: str, more: Mapping[str, Any], thing: Mapping[str, Any]
) -> Iterator[Step]:
    found = {**more, **{name: thing[name] for name in ("name", "note") if name in thing}}
    if "draw" in thing:
        found["order"] = thing["draw"]["order"]
    if found:
        yield {"do": f"describe-{one}", one: key, **found}
