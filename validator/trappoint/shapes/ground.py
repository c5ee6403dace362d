"""A plan that is being laid: its tracks from west to east, points, crossings and platforms.

The up end of every track is in the west, so down trains run east, with north on their left. Roads
are numbered from north to south. On a double line trains keep left: the down line lies north of
the up line.
"""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import count as counting
from string import ascii_uppercase
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.shapes.options import Wish

Side = Literal["west", "east"]
Edge = Literal["north", "south"]
Running = Literal["both", "down", "up"]
Plan = dict[str, Any]

KEYS = ("tracks", "points", "crossings", "worked_together", "platforms", "yards")
"""The keys of a plan that shapes fill, in the order of the format."""

LINE_MM = 2000
ROAD_MM = 1400
PLATFORM_MM = 900
SIDING_MM = 900
ENGINE_MM = 300
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


class Turnout(NamedTuple):
    """The ends of points at which a branch leaves the line."""

    points: str
    toe: str
    main: str
    """The leg at which the line goes on."""
    branch: str


class Fan(NamedTuple):
    """A ladder of points that splits a line into roads."""

    toe: str
    """The end of points, or the joint, where the line begins."""
    legs: tuple[str, ...]
    """The ends of points, or the joint, where the roads begin, from north to south."""


@dataclass
class Ground:
    """A plan that is being laid.

    ``taken`` has the ids of another plan, which nothing laid here may have.
    """

    tracks: dict[str, Plan] = field(default_factory=dict)
    points: dict[str, Plan] = field(default_factory=dict)
    crossings: dict[str, Plan] = field(default_factory=dict)
    worked_together: list[list[str]] = field(default_factory=list)
    platforms: dict[str, Plan] = field(default_factory=dict)
    yards: dict[str, Plan] = field(default_factory=dict)
    taken: frozenset[str] = frozenset()

    def laid(self) -> Plan:
        """Return what has been laid, as the keys of a plan have it."""
        found = {key: getattr(self, key) for key in KEYS}
        return {key: value for key, value in found.items() if value}

    def numbered(self, name: str, laid: Mapping[str, Plan], first: int = 1) -> str:
        """Return the name with the first number that makes it an id of its own."""
        return next(
            key
            for key in (f"{name}{number}" for number in counting(first))
            if key not in laid and key not in self.taken
        )

    def open_line(self, west: tuple[str, ...], name: str = "line", **more: Any) -> Line:
        """Lay the line that goes on east, from one end or from those of the down and the up line.

        Trains may wait on it for the next shape.
        """
        if len(west) == 1:
            line = self.open_track(name, west[0], **more)
            return Line(line, line)
        down = self.open_track(f"down-{name}", west[0], "down", **more)
        return Line(down, self.open_track(f"up-{name}", west[1], "up", **more))

    def open_track(self, name: str, west: str, running: Running = "both", **more: Any) -> str:
        """Lay one track of the line, with its east end open; return its id."""
        key = self.numbered(f"{name}-", self.tracks)
        usual = {"length_mm": LINE_MM, **_stand(west)}
        self.tracks[key] = {"up": west, "down": "", **_running(running), **usual, **more}
        return key

    def meets(self, track: str, end: str) -> None:
        """Connect the open end of a track, to the east or the west, to another end."""
        self.tracks[track]["down" if not self.tracks[track]["down"] else "up"] = end

    def diamond(self) -> str:
        """Lay a diamond and return its id."""
        key = self.numbered("x", self.crossings)
        self.crossings[key] = {}
        return key

    def begun(self, lines: int) -> Line:
        """Return a line that another plan has, whose east ends are open; it is taken out later."""
        keys = (" line",) if lines == 1 else (" down-line", " up-line")
        self.tracks.update({key: {"up": "", "down": "", "stand": True} for key in keys})
        return Line(keys[0], keys[-1])

    def leave(self, line: Line, ends: tuple[str, ...]) -> None:
        """Let a line end at edges or buffers, where a track is a stand by default."""
        for track, end in ((line.down, ends[0]), (line.up, ends[-1])):
            self.tracks[track]["down"] = end
            self.tracks[track].pop("stand", None)

    def free_edges(self, name: str, lines: int) -> tuple[str, ...]:
        """Return edges of this name that no track meets yet, numbered if necessary."""
        used = {track[end] for track in self.tracks.values() for end in ("up", "down")}
        names = (name if number == 1 else f"{name}-{number}" for number in counting(1))
        return next(
            ends
            for ends in (edges(each, lines) for each in names)
            if not (used | self.taken) & set(ends)
        )

    def close(self, first: Line, last: Line) -> None:
        """Close the circuit: join the last piece of the line and the first into one track."""
        for begun, ended in {first.down: last.down, first.up: last.up}.items():
            self.tracks[ended]["down"] = self.tracks.pop(begun)["down"]


class Site:
    """The place of one shape in the plan; its name, if it has one, begins the ids of its things."""

    def __init__(self, ground: Ground, name: str = "") -> None:
        self.ground = ground
        self._prefix = f"{name}-" if name else ""

    def track(self, name: str, west: str, east: str, **more: Any) -> str:
        """Lay a track and return its id: that of the shape, if the track is called the same."""
        alone = name == self._prefix.rstrip("-0123456789")
        key = self._prefix[:-1] if alone else self._prefix + name
        self.ground.tracks[key] = {"up": west, "down": east, **more}
        return key

    def link(self, side: Side, outer: str, inner: str, running: Running = "both") -> str:
        """Lay a short track between points on one side of the station; return its id.

        ``outer`` is the end farther from the station.
        """
        key = self.ground.numbered(f"{self._prefix}link-", self.ground.tracks)
        ends = (outer, inner) if side == "west" else (inner, outer)
        return self.track(key.removeprefix(self._prefix), *ends, **_running(running))

    def points(self, normal: str, **more: Any) -> str:
        """Lay points and return their id, which is numbered through the whole plan."""
        key = self.ground.numbered("p", self.ground.points, len(self.ground.points) + 1)
        self.ground.points[key] = {"normal": normal, **more}
        return key

    def turnout(self, toe: Side, leaves: Edge, *, to_branch: bool = False, **more: Any) -> Turnout:
        """Lay points with their toe to the west or the east, and a branch to the north or south.

        They lie normally for the line, or for the branch if ``to_branch`` is true.
        """
        branch, main = hands(toe, leaves)
        key = self.points(branch if to_branch else main, **more)
        return Turnout(key, f"{key}.toe", f"{key}.{main}", f"{key}.{branch}")

    def together(self, *points: str) -> None:
        """Let one lever work these points."""
        self.ground.worked_together.append(list(points))

    def joint(self, name: str) -> str:
        """Return the joint as the end of a track."""
        return f"joint:{self._prefix}{name}"

    def road(self, name: str, west: str, east: str, running: Running = "both") -> str:
        """Lay a road on which trains may stand; return its id."""
        stand = _stand(west) and _stand(east)
        return self.track(name, west, east, **_running(running), length_mm=ROAD_MM, **stand)

    def platforms(self, roads: list[str], wish: Wish, first: Edge = "north") -> None:
        """Build platforms beside roads that lie side by side, given from north to south.

        If the wish counts faces, as many roads have one, beside as few platforms as can be.
        ``first`` is where a platform with one road stands, and where faces begin. The roads are
        stands by default, so ``stand`` is left out.
        """
        ordered = roads if first == "north" else roads[::-1]
        served_at = beside(ordered, wish.platforms)
        if wish.faces:
            served_at = beside(ordered[: wish.faces], (wish.faces + 1) // 2)
        if first == "south":
            served_at = [served[::-1] for served in reversed(served_at)]
        for number, served in enumerate(served_at):
            key = self._prefix + ascii_uppercase[number]
            self.ground.platforms[key] = {"tracks": served, "length_mm": PLATFORM_MM}
            for road in served:
                self.ground.tracks[road].pop("stand", None)

    @contextmanager
    def in_yard(self, name: str) -> Iterator[None]:
        """Make what is laid meanwhile a yard: one engine at a time, under hand signals."""
        ground = self.ground
        tracks, points = set(ground.tracks), set(ground.points)
        yield
        members = {
            "tracks": [key for key in ground.tracks if key not in tracks],
            "points": [key for key in ground.points if key not in points],
        }
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
        near, far = hands(side, main)
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

    def fan_from(
        self, side: Side, leg: str, roads: int, main: Edge, *, name: str
    ) -> tuple[str, ...]:
        """Split the track that begins at a leg into roads; return where they begin, northern first.

        One road begins at the leg itself. ``side`` and ``main`` are those of ``fan``.
        """
        if roads == 1:
            return (leg,)
        fan = self.fan(side, roads, main, name=name)
        self.link(side, leg, fan.toe)
        return fan.legs


def hands(toe: Side, towards: Edge) -> tuple[str, str]:
    """Return the leg of points that lies to the north or the south, then the other leg.

    From the toe, north is on the left if the toe is in the west, otherwise on the right.
    """
    return ("left", "right") if (toe == "west") == (towards == "north") else ("right", "left")


def opposite(way: Side) -> Side:
    """Return the other way."""
    return "east" if way == "west" else "west"


def along(way: Side, near: str, far: str) -> tuple[str, str]:
    """Return the ends of a track that runs west or east from its near end, the west one first."""
    return (near, far) if way == "east" else (far, near)


def edges(name: str, lines: int) -> tuple[str, ...]:
    """Return the edges at which a line leaves the plan; on a double line, the down line first."""
    return (f"edge:{name}",) if lines == 1 else (f"edge:{name}-down", f"edge:{name}-up")


def beside(roads: list[str], count: int) -> list[list[str]]:
    """Return the roads of each platform, from north to south.

    As many roads as possible get a platform. If there are too few roads to give every platform two,
    the outermost platforms have one each, the northern one first, then the next from the north.
    """
    from_outside = [0, count - 1, *range(1, count - 1)]
    alone = from_outside[: max(0, 2 * count - len(roads))]
    found: list[list[str]] = []
    left = list(roads)
    for number in range(count):
        width = 1 if number in alone else 2
        found.append(left[:width])
        left = left[width:]
    return [served for served in found if served]


def _stand(end: str) -> Plan:
    """Return ``stand`` for a track with this end; nothing if the track is a stand by default."""
    return {} if end == "buffer" or end.startswith("edge:") else {"stand": True}


def _running(running: str) -> Plan:
    return {} if running == "both" else {"running": running}
