"""What a plan is laid with: tracks from west to east, points, crossings, platforms.

West is the up end of every track, so that trains which run down run east. To the left of such a
train is north: of several roads the first is the northernmost. On a double line trains keep left,
so that the down line lies north of the up line.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from string import ascii_uppercase
from typing import Any, Literal, NamedTuple

Side = Literal["west", "east"]
Edge = Literal["north", "south"]
Running = Literal["both", "down", "up"]
Plan = dict[str, Any]

LINE_MM = 2000
ROAD_MM = 1400
PLATFORM_MM = 900
"""Lengths to begin with; the author of a plan puts in what was measured."""


class Line(NamedTuple):
    """Where the line goes on: the tracks whose east ends nothing meets yet.

    A single line is one track for both ways.
    """

    down: str
    up: str

    @property
    def lines(self) -> int:
        """1 for a single line, 2 for a double one."""
        return 1 if self.down == self.up else 2


class Fan(NamedTuple):
    """A line that parts into roads."""

    toe: str
    """What the end of the line meets."""
    legs: tuple[str, ...]
    """What the ends of the roads meet, from north to south."""


@dataclass
class Ground:
    """A plan that is being laid."""

    tracks: dict[str, Plan] = field(default_factory=dict)
    points: dict[str, Plan] = field(default_factory=dict)
    crossings: dict[str, Plan] = field(default_factory=dict)
    worked_together: list[list[str]] = field(default_factory=list)
    platforms: dict[str, Plan] = field(default_factory=dict)
    yards: dict[str, Plan] = field(default_factory=dict)

    def plan(self, title: str) -> Plan:
        """Return the whole as a document of the format, without signals."""
        keys = ("tracks", "points", "crossings", "worked_together", "platforms", "yards")
        laid = {key: getattr(self, key) for key in keys}
        found = {key: value for key, value in laid.items() if value}
        return {"format": "trappoint-layout/1", "title": title, **found}

    def open_line(self, west: tuple[str, ...], name: str = "line") -> Line:
        """Lay the line that goes on east from one end, or from two: of the down and the up line.

        Trains may wait on it for the road into what comes next.
        """
        if len(west) == 1:
            line = self.open_track(name, west[0])
            return Line(line, line)
        down = self.open_track(f"down-{name}", west[0], "down")
        return Line(down, self.open_track(f"up-{name}", west[1], "up"))

    def open_track(self, name: str, west: str, running: Running = "both") -> str:
        """Lay one track of the line that goes on east; return its id."""
        number = 1
        while f"{name}-{number}" in self.tracks:
            number += 1
        more = {**_running(running), "length_mm": LINE_MM, **_stand(west)}
        self.tracks[f"{name}-{number}"] = {"up": west, "down": "", **more}
        return f"{name}-{number}"

    def meets(self, track: str, east: str) -> None:
        """Say what a track that was left open meets."""
        self.tracks[track]["down"] = east

    def diamond(self) -> str:
        """Lay a diamond and return its id."""
        key = f"x{len(self.crossings) + 1}"
        self.crossings[key] = {}
        return key

    def leave(self, line: Line, name: str) -> None:
        """Let a line leave the plan, where a train may stand without saying so."""
        ends = edges(name, line.lines)
        for track, end in ((line.down, ends[0]), (line.up, ends[-1])):
            self.meets(track, end)
            self.tracks[track].pop("stand", None)

    def close(self, first: Line, last: Line) -> None:
        """Lead the line round to where it began, so that the last piece and the first are one."""
        for begun, ended in {first.down: last.down, first.up: last.up}.items():
            self.meets(ended, self.tracks.pop(begun)["down"])

    def turn(self, open_west: Line) -> Line:
        """Turn all that is laid by half a turn, so that what was open to the west is to the east.

        Left and right stay, for they are seen from the toe.
        """
        other = {"down": "up", "up": "down", "both": "both"}
        # The down line becomes the up line, and is called so.
        named = {open_west.up: open_west.down, open_west.down: open_west.up}
        laid, self.tracks = self.tracks, {}
        for key, track in laid.items():
            ends = {"up": track["down"], "down": track["up"]}
            running = _running(other[track.get("running", "both")])
            self.tracks[named.get(key, key)] = {**track, **ends, **running}
        return open_west


class Site:
    """Where one shape is laid. What it has is named after it, where there are several."""

    def __init__(self, ground: Ground, name: str = "") -> None:
        self.ground = ground
        self._prefix = f"{name}-" if name else ""

    def track(self, name: str, west: str, east: str, **more: Any) -> str:
        """Lay a track and return its id."""
        key = self._prefix + name
        self.ground.tracks[key] = {"up": west, "down": east, **more}
        return key

    def link(self, side: Side, outer: str, inner: str, running: Running = "both") -> str:
        """Lay a short track between points, on one side of the station: outer is farther away."""
        number = 1
        while f"{self._prefix}link-{number}" in self.ground.tracks:
            number += 1
        ends = (outer, inner) if side == "west" else (inner, outer)
        return self.track(f"link-{number}", *ends, **_running(running))

    def points(self, normal: str, **more: Any) -> str:
        """Lay points and return their id: they are numbered through the whole plan."""
        key = f"p{len(self.ground.points) + 1}"
        self.ground.points[key] = {"normal": normal, **more}
        return key

    def together(self, *points: str) -> None:
        """Work points by one lever."""
        self.ground.worked_together.append(list(points))

    def joint(self, name: str) -> str:
        """Return the end at which two tracks meet."""
        return f"joint:{self._prefix}{name}"

    def road(self, name: str, west: str, east: str, running: Running = "both") -> str:
        """Lay a road on which trains stand."""
        more: Plan = {**_running(running), "length_mm": ROAD_MM, **_stand(east)}
        return self.track(name, west, east, **more)

    def platforms(self, roads: list[str], count: int) -> None:
        """Build platforms beside roads that lie side by side, given from north to south.

        That trains stand at them goes without saying.
        """
        for number, served in enumerate(beside(roads, count)):
            key = self._prefix + ascii_uppercase[number]
            self.ground.platforms[key] = {"tracks": served, "length_mm": PLATFORM_MM}
            for road in served:
                self.ground.tracks[road].pop("stand", None)

    def yard(self, name: str, tracks: list[str], points: list[str]) -> None:
        """Let tracks and points be worked by one engine at a time under hand signals."""
        members = {"tracks": tracks, "points": points}
        self.ground.yards[self._prefix + name] = {
            key: each for key, each in members.items() if each
        }

    def fan(
        self, side: Side, roads: int, main: Edge, *, running: Running = "both", name: str
    ) -> Fan:
        """Part the line into roads: its main road goes straight on, the others lie on a ladder.

        ``side`` is the side of the roads on which the line is; ``main`` tells whether the main road
        is the northernmost or the southernmost. One road needs no points: it meets the line at a
        joint, which is called ``name``.
        """
        if roads == 1:
            joint = self.joint(name)
            return Fan(joint, (joint,))
        # Seen from the toe, north is on the left where the toe is in the west, else on the right.
        near, far = (
            ("left", "right") if (side == "west") == (main == "north") else ("right", "left")
        )
        legs: list[str] = []
        toe = leg = ""
        for _ in range(roads - 1):
            points = self.points(near)
            if leg:
                self.link(side, leg, f"{points}.toe", running)
            toe = toe or f"{points}.toe"
            legs.append(f"{points}.{near}")
            leg = f"{points}.{far}"
        legs.append(leg)
        return Fan(toe, tuple(legs if main == "north" else reversed(legs)))


def edges(name: str, lines: int) -> tuple[str, ...]:
    """Return the ends at which a line leaves the plan: of a double one the down line's first."""
    return (f"edge:{name}",) if lines == 1 else (f"edge:{name}-down", f"edge:{name}-up")


def most_platforms(roads: int) -> int:
    """Return how many platforms may lie beside so many roads, each beside one of its own."""
    return roads // 2 + 1 if roads else 0


def beside(roads: list[str], count: int) -> list[list[str]]:
    """Share out roads among platforms, from north to south.

    As many roads as can be have a platform: where there are too few roads for islands alone, the
    outermost have a platform to themselves, the northern one first.
    """
    alone = max(0, 2 * count - len(roads))
    found: list[list[str]] = []
    left = list(roads)
    for number in range(count):
        width = 1 if (number == 0 and alone) or (number == count - 1 and alone == 2) else 2
        found.append(left[:width])
        left = left[width:]
    return [served for served in found if served]


def _stand(end: str) -> Plan:
    """Return what says that a train may stand, where that does not go without saying."""
    return {} if end == "buffer" or end.startswith("edge:") else {"stand": True}


def _running(running: str) -> Plan:
    return {} if running == "both" else {"running": running}
