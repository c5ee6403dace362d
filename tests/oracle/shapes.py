"""Lines of the shapes that clubs lay, piece after piece from one edge of the plan to the other.

A line under construction is a list of open ends, one for a single line and two for a double:
each the text that the next track's up end has to meet.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

Plan = dict[str, Any]


class Line:
    """A plan being laid: its open ends, and how to go on from them."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.plan: Plan = {
            "format": "trappoint-layout/1",
            "tracks": {},
            "points": {},
            "crossings": {},
            "turntables": {},
            "platforms": {},
            "worked_together": [],
        }
        self.edges = 0
        self.joints = 0
        self.open = [self.edge()]

    def edge(self) -> str:
        self.edges += 1
        return f"edge:e{self.edges}"

    def track(self, up: str, down: str, stand: bool = False, one_way: str | None = None) -> str:
        """Lay one track, now and then the other way round or with a joint in it; its id.

        Where it is `one_way`, trains run to its `up` or its `down` end only, as given here.
        """
        if self.rng.random() < 0.05:
            up = self.divide(up, one_way)
        track_id = f"k{len(self.plan['tracks']) + 1}"
        if self.rng.random() < 0.1:
            up, down = down, up
            one_way = {"up": "down", "down": "up"}.get(one_way or "")
        track: dict[str, Any] = {"up": up, "down": down}
        track["length_mm"] = self.rng.randrange(300, 3000, 50)
        if one_way:
            track["running"] = one_way
        if stand:
            track["stand"] = True
        self.plan["tracks"][track_id] = track
        return track_id

    def divide(self, up: str, one_way: str | None = None) -> str:
        """Lay a track to a joint; the joint."""
        joint = self.joint()
        self.track(up, joint, one_way=one_way)
        return joint

    def joint(self) -> str:
        self.joints += 1
        return f"joint:j{self.joints}"

    def points(self, kind: str = "turnout") -> str:
        points_id = f"p{len(self.plan['points']) + 1}"
        normal = self.rng.choice(("left", "right"))
        self.plan["points"][points_id] = {"normal": normal}
        if kind != "turnout":
            self.plan["points"][points_id]["kind"] = kind
        return points_id

    def trap(self, leg: str) -> str:
        """Lay trap points behind the leg of other points, with a drag; the toe, for a siding.

        The drag is the normal way. Mostly one lever works the trap and the other points.
        """
        trap = self.points()
        normal = str(self.plan["points"][trap]["normal"])
        other = "left" if normal == "right" else "right"
        self.plan["points"][trap]["trap"] = True
        link = {"up": leg, "down": f"{trap}.{other}", "length_mm": 300}
        drag = {"up": f"{trap}.{normal}", "down": "buffer", "stand": False}
        for track in (link, drag):
            self.plan["tracks"][f"k{len(self.plan['tracks']) + 1}"] = track
        of_leg, _, name = leg.partition(".")
        if self.plan["points"][of_leg]["normal"] != name and self.rng.random() < 0.6:
            self.plan["worked_together"].append([of_leg, trap])
        return f"{trap}.toe"

    def crossing(self, kind: str) -> str:
        crossing_id = f"x{len(self.plan['crossings']) + 1}"
        self.plan["crossings"][crossing_id] = {"kind": kind}
        return crossing_id

    def platform(self, *tracks: str) -> None:
        name = f"P{len(self.plan['platforms']) + 1}"
        self.plan["platforms"][name] = {"tracks": list(tracks)}

    def done(self) -> Plan:
        """The plan, without what is empty."""
        return {key: value for key, value in self.plan.items() if value or key == "tracks"}


def lay_line(rng: random.Random, points: int) -> Plan:
    """Lay a line with about this number of points, from edge to edge, without signals."""
    line = Line(rng)
    while len(line.plan["points"]) < points:
        pieces = SINGLE if len(line.open) == 1 else DOUBLE
        rng.choice(pieces)(line)
    for end in line.open:
        line.track(end, line.edge())
    return line.done()


def _loop(line: Line) -> None:
    """A passing loop, one or both of its roads with a platform."""
    near, far = line.points(), line.points()
    line.track(line.open[0], f"{near}.toe")
    main = line.track(f"{near}.left", f"{far}.right", stand=True)
    line.track(f"{near}.right", f"{far}.left", stand=True)
    if line.rng.random() < 0.5:
        line.platform(main)
    line.open = [f"{far}.toe"]


def _siding(line: Line) -> None:
    """Points in a running line, facing or trailing, with a siding, now and then a trapped one."""
    number = line.rng.randrange(len(line.open))
    points = line.points()
    facing = line.rng.random() < 0.5
    line.track(line.open[number], f"{points}.toe" if facing else f"{points}.left")
    begin = f"{points}.right"
    if line.rng.random() < 0.3:
        line.plan["points"][points]["normal"] = "left"
        begin = line.trap(begin)
    line.track(begin, "buffer")
    line.open[number] = f"{points}.left" if facing else f"{points}.toe"


def _ladder(line: Line) -> None:
    """A fan of sidings, one set of points after another."""
    lead = line.points()
    line.track(line.open[0], f"{lead}.toe")
    line.open[0] = f"{lead}.left"
    reached = f"{lead}.right"
    for _ in range(line.rng.randint(1, 5)):
        points = line.points("three-way" if line.rng.random() < 0.15 else "turnout")
        line.track(reached, f"{points}.toe")
        if line.plan["points"][points].get("kind") == "three-way":
            line.track(f"{points}.middle", "buffer")
        line.track(f"{points}.left", "buffer")
        reached = f"{points}.right"
    line.track(reached, "buffer")


def _shed(line: Line) -> None:
    """A turntable with its roads, on a lead from the line."""
    lead = line.points()
    line.track(line.open[0], f"{lead}.toe")
    line.open[0] = f"{lead}.left"
    turntable = f"t{len(line.plan['turntables']) + 1}"
    roads = [f"r{n + 1}" for n in range(line.rng.randint(3, 6))]
    line.plan["turntables"][turntable] = {"roads": roads}
    line.track(f"{lead}.right", f"{turntable}.r1")
    for road in roads[1:]:
        line.track(f"{turntable}.{road}", "buffer")


def _balloon(line: Line) -> None:
    """A branch that ends in a reversing loop."""
    lead, throat = line.points(), line.points()
    line.track(line.open[0], f"{lead}.toe")
    line.open[0] = f"{lead}.left"
    line.track(f"{lead}.right", f"{throat}.toe", stand=line.rng.random() < 0.5)
    line.track(f"{throat}.left", f"{throat}.right", stand=line.rng.random() < 0.5)


def _make_double(line: Line) -> None:
    points = line.points()
    line.track(line.open[0], f"{points}.toe")
    line.open = [f"{points}.left", f"{points}.right"]


def _make_single(line: Line) -> None:
    points = line.points()
    line.track(line.open[0], f"{points}.right")
    line.track(line.open[1], f"{points}.left")
    line.open = [f"{points}.toe"]


def _station(line: Line) -> None:
    """Two platform roads side by side on a double line."""
    for number, end in enumerate(list(line.open)):
        joint = line.joint()
        line.platform(line.track(end, joint))
        line.open[number] = joint


def _crossover(line: Line) -> None:
    """A crossover between two lines, its ends worked together or separately."""
    near, far = line.points(), line.points()
    line.track(line.open[0], f"{near}.toe")
    line.track(line.open[1], f"{far}.left")
    line.track(f"{near}.right", f"{far}.right")
    line.plan["points"][near]["normal"] = line.plan["points"][far]["normal"] = "left"
    if line.rng.random() < 0.8:
        line.plan["worked_together"].append([near, far])
    line.open = [f"{near}.left", f"{far}.toe"]


def _scissors(line: Line) -> None:
    """Two crossovers through one diamond."""
    a_near, a_far, b_near, b_far = (line.points() for _ in range(4))
    diamond = line.crossing("diamond")
    for end, near, far in ((0, a_near, a_far), (1, b_near, b_far)):
        line.track(line.open[end], f"{near}.toe")
        line.track(f"{near}.left", f"{far}.left")
    line.track(f"{a_near}.right", f"{diamond}.a1")
    line.track(f"{b_near}.right", f"{diamond}.b1")
    line.track(f"{diamond}.a2", f"{b_far}.right")
    line.track(f"{diamond}.b2", f"{a_far}.right")
    line.plan["worked_together"] += [[a_near, b_far], [b_near, a_far]]
    for points in (a_near, a_far, b_near, b_far):
        line.plan["points"][points]["normal"] = "left"
    line.open = [f"{a_far}.toe", f"{b_far}.toe"]


def _slip(line: Line) -> None:
    """The two lines change places over a diamond or a slip."""
    crossing = line.crossing(line.rng.choice(("diamond", "single-slip", "double-slip")))
    line.track(line.open[0], f"{crossing}.a1")
    line.track(line.open[1], f"{crossing}.b1")
    line.open = [f"{crossing}.b2", f"{crossing}.a2"]


def _branch_across(line: Line) -> None:
    """A line of somebody else's that crosses on the level."""
    crossing = line.crossing("diamond")
    line.track(line.open[0], f"{crossing}.a1")
    line.track(line.edge(), f"{crossing}.b1")
    line.track(f"{crossing}.b2", line.edge())
    line.open[0] = f"{crossing}.a2"


Piece = Callable[[Line], None]
SINGLE: tuple[Piece, ...] = (
    _loop, _loop, _siding, _siding, _ladder, _shed, _balloon, _make_double, _make_double,
    _branch_across,
)  # fmt: skip
DOUBLE: tuple[Piece, ...] = (
    _make_single, _station, _siding, _crossover, _crossover, _scissors, _slip, _ladder,
    _branch_across,
)  # fmt: skip
