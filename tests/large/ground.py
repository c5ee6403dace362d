"""What a large plan is laid with: tracks from west to east, points, signals by box, levers."""

from __future__ import annotations

import random
from typing import Any, Literal, NamedTuple

Plan = dict[str, Any]
Side = Literal["west", "east"]

MAX_LEVERS = 999
"""The levers that a plan may number."""


class Line(NamedTuple):
    """Where a line goes on: the tracks whose east ends nothing meets yet.

    A double line has one for trains that run down (east) and one for those that run up; a single
    line has one for both.
    """

    down: str
    up: str

    @property
    def single(self) -> bool:
        return self.down == self.up


class Ground:
    """A plan that is being laid, box by box. West is the up end of every track."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.tracks: dict[str, Plan] = {}
        self.points: dict[str, Plan] = {}
        self.crossings: dict[str, Plan] = {}
        self.turntables: dict[str, Plan] = {}
        self.worked_together: list[list[str]] = []
        self.platforms: dict[str, Plan] = {}
        self.yards: dict[str, Plan] = {}
        self.signals: dict[str, Plan] = {}
        self.scenes: dict[str, Plan] = {}
        self.boxes = 0

    def box(self) -> Box:
        """Open the next signal box."""
        self.boxes += 1
        return Box(self, f"b{self.boxes}")

    def plan(self) -> Plan:
        """The whole plan.

        It has a lever for each arm and each set of points outside yards, as long as the format
        has numbers for them.
        """
        keys = ("points", "crossings", "turntables", "worked_together", "platforms", "yards")
        whole: Plan = {
            "format": "trappoint-layout/1",
            "title": f"A railway with {len(self.points):,} points",
            "scale": "OO",
            "tracks": self.tracks,
        }
        whole |= {key: getattr(self, key) for key in keys if getattr(self, key)}
        whole |= {
            "signals": self.signals,
            "trains": {"local": {"length_mm": 290, "longest_coach_mm": 235}},
            "scenes": self.scenes,
        }
        levers = self._levers()
        return whole | {"levers": levers} if len(levers) <= MAX_LEVERS else whole

    def _levers(self) -> dict[str, Plan]:
        in_yards = {point for yard in self.yards.values() for point in yard["points"]}
        together = {name: group for group in self.worked_together for name in group}
        works: list[Plan] = []
        for name in self.points:
            group = together.get(name, [name])
            if name == group[0] and name not in in_yards:
                works.append({"points": group})
        works += [{"arms": [arm["id"]]} for post in self.signals.values() for arm in post["arms"]]
        return {str(number): each for number, each in enumerate(works, 1)}


class Box:
    """One signal box and what it works; its name stands before every id."""

    def __init__(self, ground: Ground, name: str) -> None:
        self.ground = ground
        self.random = ground.random
        self.name = name
        self.numbers = 0

    def id(self, name: str) -> str:
        return f"{self.name}-{name}"

    def track(self, name: str, west: str, east: str = "", **more: Any) -> str:
        """Lay a track; without an east end it is one that the next box goes on from."""
        self.ground.tracks[self.id(name)] = {"up": west, "down": east, **more}
        return self.id(name)

    def meets(self, track: str, east: str) -> None:
        """Say what a track that was left open meets."""
        self.ground.tracks[track]["down"] = east

    def points(self, name: str, normal: str = "left", **more: Any) -> str:
        self.ground.points[self.id(name)] = {"normal": normal, "crossing_number": 8, **more}
        return self.id(name)

    def together(self, *names: str) -> None:
        self.ground.worked_together.append([self.id(name) for name in names])

    def across(self, name: str, side: Side, outer: str, inner: str) -> str:
        """Lay a track between what is nearer to the line (outer) and what is nearer to the station.

        ``side`` is the side of the station on which it lies.
        """
        return self.track(name, outer, inner) if side == "west" else self.track(name, inner, outer)

    def joint(self, name: str) -> str:
        return f"joint:{self.id(name)}"

    def part(self, name: str) -> Box:
        """A part of the box whose things are named apart."""
        return Box(self.ground, self.id(name))

    def platform(self, name: str, *tracks: str) -> None:
        self.ground.platforms[self.id(name)] = {"tracks": list(tracks), "length_mm": 900}

    def post(self, track: str, way: str, *arms: Plan, **more: Any) -> list[str]:
        """Put up a signal, whose arms are lettered where there are several; return their ids."""
        self.numbers += 1
        number = self.id(str(self.numbers))
        shown = []
        for position, arm in enumerate(arms or ({},)):
            letter = chr(ord("A") + position) if len(arms) > 1 else ""
            shown.append({"id": number + letter, **arm})
        if sum("under" not in arm for arm in shown) > 1:
            more = {"mount": "bracket", **more}
        self.ground.signals[number] = {"track": track, "for": way, **more, "arms": shown}
        return [arm["id"] for arm in shown]

    def disc(self, track: str, way: str, **more: Any) -> str:
        """Put up a disc on the ground."""
        return self.post(track, way, form="disc", mount="ground", **more)[0]

    def distant(self, track: str, way: str, at_mm: int, *repeats: str) -> None:
        arm = {"kind": "distant", **({"repeats": list(repeats)} if repeats else {})}
        self.post(track, way, arm, at_mm=at_mm)

    def scene(self, name: str, **more: Any) -> None:
        """Write down a moment, at one box in ten."""
        if self.random.random() < 0.1:
            self.ground.scenes[self.id(name)] = more

    def open_line(self, west: str, west_up: str = "") -> Line:
        """Lay the line to the next box: single, or double where a second end is given."""
        if not west_up:
            line = self.track("line", west, length_mm=9000)
            return Line(line, line)
        down = self.track("down-line", west, running="down", length_mm=9000)
        up = self.track("up-line", west_up, running="up", length_mm=9000)
        return Line(down, up)
