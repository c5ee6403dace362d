"""A plan that is being laid: its tracks from west to east, points, crossings and platforms.

The up end of every track is in the west, so down trains run east, with north on their left. Roads
are numbered from north to south. On a double line trains keep left: the down line lies north of
the up line.
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
"""Starting lengths in mm; the author of a plan replaces them with measured ones."""


class Line(NamedTuple):
    """The tracks of the line whose east ends are still open.

    A single line is one track for both ways.
    """

    down: str
    up: str

    @property
    def lines(self) -> int:
        """1 for a single line, 2 for a double one."""
        return 1 if self.down == self.up else 2


class Fan(NamedTuple):
    """A ladder of points that splits a line into roads."""

    toe: str
    """The end of points, or the joint, where the line begins."""
    legs: tuple[str, ...]
    """The ends of points, or the joint, where the roads begin, from north to south."""


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
        """Return the plan in the layout format, without signals."""
        keys = ("tracks", "points", "crossings", "worked_together", "platforms", "yards")
        laid = {key: getattr(self, key) for key in keys}
        found = {key: value for key, value in laid.items() if value}
        return {"format": "trappoint-layout/1", "title": title, **found}

    def open_line(self, west: tuple[str, ...], name: str = "line") -> Line:
        """Lay the line that goes on east, from one end or from those of the down and the up line.

        Trains may wait on it for the next shape.
        """
        if len(west) == 1:
            line = self.open_track(name, west[0])
            return Line(line, line)
        down = self.open_track(f"down-{name}", west[0], "down")
        return Line(down, self.open_track(f"up-{name}", west[1], "up"))

    def open_track(self, name: str, west: str, running: Running = "both") -> str:
        """Lay one track of the line, with its east end open; return its id."""
        number = 1
        while f"{name}-{number}" in self.tracks:
            number += 1
        more = {**_running(running), "length_mm": LINE_MM, **_stand(west)}
        self.tracks[f"{name}-{number}"] = {"up": west, "down": "", **more}
        return f"{name}-{number}"

    def meets(self, track: str, east: str) -> None:
        """Connect the open east end of a track to another end."""
        self.tracks[track]["down"] = east

    def diamond(self) -> str:
        """Lay a diamond and return its id."""
        key = f"x{len(self.crossings) + 1}"
        self.crossings[key] = {}
        return key

    def leave(self, line: Line, name: str) -> None:
        """Let a line leave the plan at an edge, where a track is a stand by default."""
        ends = edges(name, line.lines)
        for track, end in ((line.down, ends[0]), (line.up, ends[-1])):
            self.meets(track, end)
            self.tracks[track].pop("stand", None)

    def close(self, first: Line, last: Line) -> None:
        """Close the circuit: join the last piece of the line and the first into one track."""
        for begun, ended in {first.down: last.down, first.up: last.up}.items():
            self.meets(ended, self.tracks.pop(begun)["down"])

    def turn(self, open_west: Line) -> Line:
        """Turn the plan by half a turn, so that a line open to the west is open to the east.

        Left and right stay, because they are seen from the toe. Returns the line.
        """
        other = {"down": "up", "up": "down", "both": "both"}
        # The down line becomes the up line, so both swap their names.
        named = {open_west.up: open_west.down, open_west.down: open_west.up}
        laid, self.tracks = self.tracks, {}
        for key, track in laid.items():
            ends = {"up": track["down"], "down": track["up"]}
            running = _running(other[track.get("running", "both")])
            self.tracks[named.get(key, key)] = {**track, **ends, **running}
        return open_west


class Site:
    """The place of one shape in the plan; its name, if it has one, begins the ids of its things."""

    def __init__(self, ground: Ground, name: str = "") -> None:
        self.ground = ground
        self._prefix = f"{name}-" if name else ""

    def track(self, name: str, west: str, east: str, **more: Any) -> str:
        """Lay a track and return its id."""
        key = self._prefix + name
        self.ground.tracks[key] = {"up": west, "down": east, **more}
        return key

    def link(self, side: Side, outer: str, inner: str, running: Running = "both") -> str:
        """Lay a short track between points on one side of the station; return its id.

        ``outer`` is the end farther from the station.
        """
        number = 1
        while f"{self._prefix}link-{number}" in self.ground.tracks:
            number += 1
        ends = (outer, inner) if side == "west" else (inner, outer)
        return self.track(f"link-{number}", *ends, **_running(running))

    def points(self, normal: str, **more: Any) -> str:
        """Lay points and return their id, which is numbered through the whole plan."""
        key = f"p{len(self.ground.points) + 1}"
        self.ground.points[key] = {"normal": normal, **more}
        return key

    def together(self, *points: str) -> None:
        """Let one lever work these points."""
        self.ground.worked_together.append(list(points))

    def joint(self, name: str) -> str:
        """Return the joint as the end of a track."""
        return f"joint:{self._prefix}{name}"

    def road(self, name: str, west: str, east: str, running: Running = "both") -> str:
        """Lay a road on which trains may stand; return its id."""
        more: Plan = {**_running(running), "length_mm": ROAD_MM, **_stand(east)}
        return self.track(name, west, east, **more)

    def platforms(self, roads: list[str], count: int) -> None:
        """Build platforms beside roads that lie side by side, given from north to south.

        Their roads are stands by default, so ``stand`` is left out.
        """
        for number, served in enumerate(beside(roads, count)):
            key = self._prefix + ascii_uppercase[number]
            self.ground.platforms[key] = {"tracks": served, "length_mm": PLATFORM_MM}
            for road in served:
                self.ground.tracks[road].pop("stand", None)

    def yard(self, name: str, tracks: list[str], points: list[str]) -> None:
        """Make tracks and points a yard: one engine at a time, under hand signals."""
        members = {"tracks": tracks, "points": points}
        self.ground.yards[self._prefix + name] = {
            key: each for key, each in members.items() if each
        }

    def fan(
        self, side: Side, roads: int, main: Edge, *, running: Running = "both", name: str
    ) -> Fan:
        """Split the line into roads: the main road goes straight on, the others join on a ladder.

        ``side`` is the side of the roads on which the line is; ``main`` is the edge of the roads
        where the main road lies. One road needs no points: it meets the line at the joint ``name``.
        """
        if roads == 1:
            joint = self.joint(name)
            return Fan(joint, (joint,))
        # From the toe, north is on the left if the toe is in the west, otherwise on the right.
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
    """Return the edges at which a line leaves the plan; on a double line, the down line first."""
    return (f"edge:{name}",) if lines == 1 else (f"edge:{name}-down", f"edge:{name}-up")


def most_platforms(roads: int) -> int:
    """Return the most platforms beside this many roads: each but the outermost serves two."""
    return roads // 2 + 1 if roads else 0


def beside(roads: list[str], count: int) -> list[list[str]]:
    """Return the roads of each platform, from north to south.

    As many roads as possible get a platform. If there are too few roads to give every platform two,
    the outermost platforms have one each, the northern one first.
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
    """Return ``stand`` for a track with this end; nothing if the track is a stand by default."""
    return {} if end == "buffer" or end.startswith("edge:") else {"stand": True}


def _running(running: str) -> Plan:
    return {} if running == "both" else {"running": running}
