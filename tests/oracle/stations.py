"""Random plans of stations as people lay and signal them, small to middling, then with flaws.

A station is laid piece after piece from one end, as in `oracle.shapes`; each track has a role
(line, road, siding, link, yard), which says how practice would signal it.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from oracle.practice import signal_station
from oracle.shapes import Line

__all__ = ["station_plan"]

Plan = dict[str, Any]


def station_plan(rng: random.Random, flaws: int | None = None) -> Plan:
    """A random station of 3 to 12 points or thereabouts, and its neighbours.

    It is signalled so that it holds, as practice would; then `flaws` random changes are made to
    its signals, traps, lever groups and stands (default: a random small number).
    """
    station = Station(rng)
    rng.choice(BEGINNINGS)(station)
    number = rng.choice((3, 3, 4, 5, 6, 7, 8, 10))
    while len(station.plan["points"]) < number:
        rng.choice(SINGLE if len(station.open) == 1 else DOUBLE)(station)
    _finish_line(station)
    station.dress()
    plan = station.done()
    if flaws is None:
        flaws = rng.choice((0, 1, 1, 1, 2, 2, 3, 4, 6))
    signal_station(rng, plan, station.roles, flaws)
    return plan


class Station(Line):
    """A station being laid, with the role of each track."""

    def __init__(self, rng: random.Random) -> None:
        super().__init__(rng)
        self.roles: dict[str, str] = {}
        self.one_way = rng.random() < 0.5

    def lay(self, up: str, down: str, role: str, **more: Any) -> str:
        """Lay a track that has this role, and so has what a joint in it divides; its id."""
        track_id = self.track(up, down, **more)
        for each in self.plan["tracks"]:
            self.roles.setdefault(each, role)
        return track_id

    def line(self, number: int, down: str, role: str = "line") -> str:
        """Lay the open line `number` on to a leg; one way only on a double line that is so."""
        one_way = None
        if self.one_way and len(self.open) == 2 and self.rng.random() < 0.7:
            one_way = ("down", "up")[number]
        return self.lay(self.open[number], down, role, one_way=one_way)

    def turn_out(self, number: int = 0) -> str:
        """Put points into an open line, facing or trailing, normal for it; the leg that is left."""
        points = self.points()
        self.plan["points"][points]["normal"] = "left"
        facing = self.rng.random() < 0.5
        self.line(number, f"{points}.toe" if facing else f"{points}.left")
        self.open[number] = f"{points}.left" if facing else f"{points}.toe"
        return f"{points}.right"

    def trap_or_link(self, leg: str, likely: float = 0.5) -> str:
        """What a siding at this leg begins at: the leg, or the toe of a trap before it."""
        if self.rng.random() >= likely:
            return leg
        toe = self.trap(leg)
        for track_id in self.plan["tracks"]:
            self.roles.setdefault(track_id, "link")
        return toe

    def sidings(self, points: str, role: str) -> None:
        """Lay sidings from the legs of points, but for the right leg."""
        three_way = self.plan["points"][points].get("kind") == "three-way"
        for leg in ("left", "middle") if three_way else ("left",):
            self.lay(f"{points}.{leg}", "buffer", role)

    def yard(self, begin: int, kind: str, members: list[str]) -> None:
        """Make one yard of all tracks from number `begin` on, with these elements of a kind."""
        yards = self.plan.setdefault("yards", {})
        yards[f"y{len(yards) + 1}"] = {"tracks": list(self.plan["tracks"])[begin:], kind: members}

    def dress(self) -> None:
        """List trains, say where trains stand, and forget a length or two."""
        rng = self.rng
        if rng.random() < 0.4:
            self.plan["trains"] = {"local": {"length_mm": rng.randrange(100, 700, 20)}}
        for track_id, track in self.plan["tracks"].items():
            role = self.roles[track_id]
            if rng.random() < 0.05:
                track.pop("length_mm", None)
            if "stand" not in track and role in ("siding", "road", "yard"):
                if rng.random() < 0.15:
                    track["stand"] = rng.random() < 0.7
            elif "stand" not in track and rng.random() < 0.05:
                track["stand"] = False


# ---- beginnings and ends -----------------------------------------------------------------------


def _from_an_edge(station: Station) -> None:
    """The line comes in from elsewhere, single or double."""
    if station.rng.random() < 0.4:
        station.open.append(station.edge())


def _roads(station: Station, toe: str, number: int) -> None:
    """A number of dead-end roads, most with platforms, behind a fan of points."""
    reached = toe
    for _ in range(number - 1):
        three = station.rng.random() < 0.2
        points = station.points("three-way" if three else "turnout")
        station.lay(reached, f"{points}.toe", "link")
        legs = ["left", "middle"] if three else ["left"]
        for leg in legs:
            _road(station, f"{points}.{leg}", "buffer")
        reached = f"{points}.right"
    _road(station, reached, "buffer")


def _road(station: Station, up: str, down: str) -> None:
    """One road of a terminus: with a platform, or else a siding."""
    if station.rng.random() < 0.7:
        station.platform(station.lay(up, down, "road"))
    else:
        station.lay(up, down, "siding")


def _from_a_terminus(station: Station) -> None:
    """A terminus of two to four roads."""
    points = station.points()
    for leg in ("left", "right"):
        _road(station, f"{points}.{leg}", "buffer")
    station.open = [f"{points}.toe"]
    for _ in range(station.rng.choice((0, 0, 1, 2))):
        points = station.points()
        station.lay(station.open[0], f"{points}.left", "link")
        _road(station, f"{points}.right", "buffer")
        station.open = [f"{points}.toe"]


def _from_a_circle(station: Station) -> None:
    """A continuous run: the last track ends where the first begins."""
    station.open = ["joint:circle"]


BEGINNINGS = (_from_an_edge, _from_an_edge, _from_an_edge, _from_a_terminus, _from_a_circle)


def _finish_line(station: Station) -> None:
    rng = station.rng
    if station.open[0] == "joint:circle" or any(
        "joint:circle" in (each["up"], each["down"]) for each in station.plan["tracks"].values()
    ):
        if len(station.open) == 2:
            _make_single(station)
        station.lay(station.open[0], "joint:circle", "line")
    elif len(station.open) == 1 and rng.random() < 0.35:
        rng.choice((_balloon_end, _shed_end, lambda s: _roads(s, s.open[0], rng.choice((2, 3)))))(
            station
        )
    else:
        for number in range(len(station.open)):
            station.line(number, station.edge())


def _balloon_end(station: Station) -> None:
    throat = station.points()
    station.lay(station.open[0], f"{throat}.toe", "line")
    station.lay(f"{throat}.left", f"{throat}.right", "road", stand=station.rng.random() < 0.6)


def _shed_end(station: Station) -> None:
    _turntable(station, station.open[0])


def _turntable(station: Station, lead: str) -> None:
    """A turntable with its roads, now and then a yard with all of them."""
    table = f"t{len(station.plan['turntables']) + 1}"
    roads = [f"r{n + 1}" for n in range(station.rng.randint(2, 4))]
    kind = station.rng.choice(({}, {}, {"kind": "traverser"}, {"kind": "sector-plate"}))
    station.plan["turntables"][table] = {"roads": roads, **kind}
    begin = len(station.plan["tracks"])
    station.lay(lead, f"{table}.{roads[0]}", "yard")
    for road in roads[1:]:
        station.lay(f"{table}.{road}", "buffer", "siding")
    if station.rng.random() < 0.4:
        station.yard(begin, "turntables", [table])


# ---- pieces along the line ---------------------------------------------------------------------


def _loop(station: Station) -> None:
    """A passing loop; trap points may guard the way out of one of its roads."""
    near, far = station.points(), station.points()
    station.plan["points"][near]["normal"] = "left"
    station.plan["points"][far]["normal"] = "right"
    station.line(0, f"{near}.toe")
    roads = [station.lay(f"{near}.left", f"{far}.right", "road", stand=True)]
    begin = station.trap_or_link(f"{near}.right", 0.1)
    one_way = "down" if station.rng.random() < 0.1 else None
    end = station.trap_or_link(f"{far}.left", 0.15)
    roads.append(station.lay(begin, end, "road", stand=True, one_way=one_way))
    if station.rng.random() < 0.5:
        station.platform(*roads[: station.rng.choice((1, 2))])
    station.open = [f"{far}.toe"]


def _siding(station: Station) -> None:
    """A siding, behind a trap or not, with a signal at its exit or not."""
    leg = station.turn_out(station.rng.randrange(len(station.open)))
    station.lay(station.trap_or_link(leg), "buffer", "siding")


def _bay(station: Station) -> None:
    """A bay platform."""
    leg = station.turn_out(station.rng.randrange(len(station.open)))
    station.platform(station.lay(leg, "buffer", "road"))


def _fan(station: Station) -> None:
    """A fan of sidings on a headshunt."""
    leg = station.turn_out(station.rng.randrange(len(station.open)))
    ladder = station.points("three-way" if station.rng.random() < 0.3 else "turnout")
    if station.rng.random() < 0.5:
        back = station.points()
        station.lay(leg, f"{back}.left", "link")
        station.lay(f"{back}.right", "buffer", "siding", stand=station.rng.random() < 0.5)
        station.lay(f"{back}.toe", f"{ladder}.toe", "link")
    else:
        station.lay(leg, f"{ladder}.toe", "link")
    station.sidings(ladder, "siding")
    station.lay(f"{ladder}.right", "buffer", "siding")


def _goods_yard(station: Station) -> None:
    """A yard under hand signals: a lead, ladders, sidings; held at its exit, or trapped."""
    leg = station.turn_out(station.rng.randrange(len(station.open)))
    reached = station.trap_or_link(leg, 0.4)
    begin = len(station.plan["tracks"])
    ladder = []
    for _ in range(station.rng.choice((1, 1, 2))):
        ladder.append(station.points("three-way" if station.rng.random() < 0.15 else "turnout"))
        station.lay(reached, f"{ladder[-1]}.toe", "yard")
        station.sidings(ladder[-1], "yard")
        reached = f"{ladder[-1]}.right"
    station.lay(reached, "buffer", "yard")
    station.yard(begin, "points", ladder)


def _shed(station: Station) -> None:
    leg = station.turn_out()
    _turntable(station, station.trap_or_link(leg, 0.2))


def _triangle(station: Station) -> None:
    """A triangle, its third corner a branch to elsewhere or to a buffer."""
    near, far, third = (station.points() for _ in range(3))
    station.line(0, f"{near}.toe")
    station.lay(f"{near}.left", f"{far}.right", "line")
    station.lay(f"{near}.right", f"{third}.left", "line")
    station.lay(f"{far}.left", f"{third}.right", "line")
    station.lay(f"{third}.toe", station.rng.choice(("buffer", station.edge())), "line")
    station.open = [f"{far}.toe"]


def _branch(station: Station) -> None:
    """A branch that leaves the line."""
    number = station.rng.randrange(len(station.open))
    station.lay(station.turn_out(number), station.edge(), "line")


def _make_double(station: Station) -> None:
    points = station.points()
    station.line(0, f"{points}.toe")
    station.open = [f"{points}.left", f"{points}.right"]


def _make_single(station: Station) -> None:
    points = station.points()
    station.line(0, f"{points}.right")
    station.line(1, f"{points}.left")
    station.open = [f"{points}.toe"]


def _platforms(station: Station) -> None:
    """Two platform roads on a double line, each ahead of a joint."""
    roads = []
    for number in (0, 1):
        joint = station.joint()
        roads.append(station.line(number, joint, "road"))
        station.open[number] = joint
    for road in (roads,) if station.rng.random() < 0.5 else [[each] for each in roads]:
        station.platform(*road)


def _crossover(station: Station) -> None:
    """A crossover, facing or trailing, its ends worked together or not."""
    near, far = station.points(), station.points()
    station.plan["points"][near]["normal"] = station.plan["points"][far]["normal"] = "left"
    one, other = station.rng.sample((0, 1), 2)  # points facing on the one line, trailing beyond
    station.line(one, f"{near}.toe")
    station.line(other, f"{far}.left")
    station.lay(f"{near}.right", f"{far}.right", "link")
    station.open[one], station.open[other] = f"{near}.left", f"{far}.toe"
    if station.rng.random() < 0.85:
        station.plan["worked_together"].append([near, far])


def _scissors(station: Station) -> None:
    a_near, a_far, b_near, b_far = (station.points() for _ in range(4))
    diamond = station.crossing("diamond")
    for number, near, far in ((0, a_near, a_far), (1, b_near, b_far)):
        station.line(number, f"{near}.toe")
        station.lay(f"{near}.left", f"{far}.left", "link")
    station.lay(f"{a_near}.right", f"{diamond}.a1", "link")
    station.lay(f"{b_near}.right", f"{diamond}.b1", "link")
    station.lay(f"{diamond}.a2", f"{b_far}.right", "link")
    station.lay(f"{diamond}.b2", f"{a_far}.right", "link")
    station.plan["worked_together"] += [[a_near, b_far], [b_near, a_far]]
    for points in (a_near, a_far, b_near, b_far):
        station.plan["points"][points]["normal"] = "left"
    station.open = [f"{a_far}.toe", f"{b_far}.toe"]


def _slip_across(station: Station) -> None:
    """A line or a siding that crosses on the level, or a slip in its place."""
    number = station.rng.randrange(len(station.open))
    kind = station.rng.choice(("diamond", "single-slip", "single-slip", "double-slip"))
    crossing = station.crossing(kind)
    station.line(number, f"{crossing}.a1")
    ends = [station.edge(), "buffer"]
    station.rng.shuffle(ends)
    for leg, end in zip(("b1", "b2"), ends, strict=True):
        station.lay(f"{crossing}.{leg}", end, "line" if end.startswith("edge") else "siding")
    station.open[number] = f"{crossing}.a2"


def _change_over(station: Station) -> None:
    """The two lines change places over a diamond or a slip."""
    crossing = station.crossing(station.rng.choice(("diamond", "single-slip", "double-slip")))
    station.line(0, f"{crossing}.a1")
    station.line(1, f"{crossing}.b1")
    station.open = [f"{crossing}.b2", f"{crossing}.a2"]


def _limit_of_shunt(station: Station) -> None:
    """On a double line trains may set back as far as a joint, where one-way running begins."""
    joint = station.joint()
    number = station.rng.randrange(len(station.open))
    station.lay(station.open[number], joint, "line", one_way=("down", "up")[number])
    station.open[number] = joint


Piece = Callable[[Station], None]
SINGLE: tuple[Piece, ...] = (
    _loop, _loop, _loop, _siding, _siding, _siding, _bay, _fan, _goods_yard, _goods_yard, _shed,
    _triangle, _branch, _make_double, _make_double, _slip_across, _slip_across,
)  # fmt: skip
DOUBLE: tuple[Piece, ...] = (
    _make_single, _platforms, _platforms, _siding, _siding, _bay, _fan, _goods_yard, _branch,
    _crossover, _crossover, _crossover, _scissors, _slip_across, _change_over, _limit_of_shunt,
)  # fmt: skip
