"""Stations, junctions and loops: each takes a line that comes from the west and goes on east.

Trains that run down run east. Each says beside it how many points it needs; ``yard`` is how many
more are laid in a yard. What holds the trains at each is common practice, no source; that it holds
them is what is checked.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from large.ground import Box, Line, Plan, Side


# --- on single lines


def passing_loop(box: Box, line: Line) -> Line:
    """Two roads, each for both ways, with a platform between them: 2 points."""
    west, east = box.points("p1", lock=True), box.points("p2", "right", lock=True)
    box.meets(line.down, f"{west}.toe")
    roads = [
        box.track("road-1", f"{west}.left", f"{east}.right", length_mm=1400),
        box.track("road-2", f"{west}.right", f"{east}.left", length_mm=1400),
    ]
    box.platform("A", *roads)
    onward = box.open_line(f"{east}.toe")
    homes = box.post(line.down, "down", {"to": roads[0]}, {"to": roads[1]})
    box.distant(line.down, "down", 7000, *homes)
    for road in roads:
        box.post(road, "down", duties=[f"starter platform {box.id('A')}"])
        box.post(road, "up")
    up_homes = box.post(onward.up, "up", {"to": roads[1]}, {"to": roads[0]})
    box.distant(onward.up, "up", 2000, *up_homes)
    box.scene(
        "passing",
        points={west: "reverse"},
        off=[homes[1]],
        trains={roads[0]: True},
    )
    return onward


def halt(box: Box, line: Line, yard: int) -> Line:
    """A platform and a siding behind trap points: 2 points and a yard."""
    west = box.points("p1")
    box.meets(line.down, f"{west}.toe")
    road = box.track("road", f"{west}.left", box.joint("end"), length_mm=1100)
    box.platform("A", road)
    siding = reception(box, f"{west}.right", "p1", yard)
    onward = box.open_line(box.joint("end"))
    expects = {west: "reverse", box.id("trap"): "reverse"}
    homes = box.post(line.down, "down", {"to": road}, {"to": siding, "expects": expects})
    box.distant(line.down, "down", 7000, homes[0])
    box.post(road, "down")
    box.post(road, "up", {"expects": {west: "normal"}})
    box.post(onward.up, "up")
    box.distant(onward.up, "up", 2000)
    return onward


def terminus(box: Box, line: Line) -> None:
    """A platform with a road round the train: 2 points."""
    west, east = box.points("p1"), box.points("p2")
    box.meets(line.down, f"{west}.toe")
    roads = [
        box.track("road", f"{west}.left", f"{east}.right", length_mm=1200),
        box.track("loop", f"{west}.right", f"{east}.left", stand=True, length_mm=1200),
    ]
    spur = box.track("spur", f"{east}.toe", "buffer", length_mm=300)
    box.platform("A", roads[0])
    homes = box.post(line.down, "down", {"to": roads[0]}, {"to": roads[1]})
    box.distant(line.down, "down", 7000, *homes)
    for road in roads:
        box.post(road, "up", {"never_with": homes})
        box.disc(road, "down")
    box.disc(spur, "up")


# --- on double lines


def wayside(box: Box, line: Line, yard: int) -> Line:
    """Two platforms, a crossover and goods: 4 points and a yard."""
    neck = box.track("neck", box.joint("neck"), f"{box.id('p3')}.toe", stand=True, length_mm=1300)
    box.meets(line.up, box.joint("neck"))
    fork = box.points("p3")
    cross_up, cross_down = box.points("p2"), box.points("p1")
    down_road = box.track("down-road", box.joint("home"), f"{cross_down}.left", running="down")
    box.meets(line.down, box.joint("home"))
    up_road = box.track("up-road", f"{fork}.left", f"{cross_up}.toe", length_mm=1300)
    box.track("crossover", f"{cross_up}.right", f"{cross_down}.right")
    box.together("p1", "p2")
    box.platform("down", down_road)
    box.platform("up", up_road)
    reception(box, f"{fork}.right", "p3", yard)
    onward = box.open_line(f"{cross_down}.toe", f"{cross_up}.left")
    box.post(line.down, "down", duties=[f"home platform {box.id('down')}"])
    box.distant(line.down, "down", 6500)
    box.post(down_road, "down", {"expects": {cross_down: "normal"}})
    home = box.post(onward.up, "up")
    box.distant(onward.up, "up", 2500, *home)
    box.post(up_road, "up", {"to": neck})
    box.disc(up_road, "down")
    box.post(neck, "up")
    box.disc(neck, "down")
    return onward


def junction(box: Box, line: Line, *, single: bool) -> tuple[Line, Line]:
    """A branch leaves, double (2 points) or single (3), over a diamond; it comes second."""
    parts, joins = box.points("p1", "right", lock=True), box.points("p2")
    diamond = box.id("x")
    box.ground.crossings[diamond] = {"crossing_number": 8}
    box.meets(line.down, f"{parts}.toe")
    box.meets(line.up, f"{joins}.toe")
    box.track("over", f"{parts}.left", f"{diamond}.a1", running="down")
    box.track("main", f"{joins}.left", f"{diamond}.b1", running="up")
    onward = box.open_line(f"{parts}.right", f"{diamond}.b2")
    if single:
        ends = box.points("p3")
        box.track("branch-down", f"{diamond}.a2", f"{ends}.left", running="down")
        box.track("branch-up", f"{joins}.right", f"{ends}.right", running="up")
        box.together("p2", "p3")
        branch = box.part("branch").open_line(f"{ends}.toe")
    else:
        branch = box.part("branch").open_line(f"{diamond}.a2", f"{joins}.right")
    homes = box.post(line.down, "down", {"to": branch.down}, {"to": onward.down})
    box.distant(line.down, "down", 6500, *homes)
    for way in (onward, branch):
        own = box.post(way.up, "up")
        box.distant(way.up, "up", 2500, *own)
    return onward, branch


def great_terminus(box: Box, line: Line, roads: int) -> None:
    """A number of platform roads behind a scissors crossover: roads + 2 points."""
    neck = box.track("neck", box.joint("neck"), f"{box.id('w3')}.toe", stand=True, length_mm=1300)
    box.meets(line.up, box.joint("neck"))
    box.meets(line.down, f"{box.id('w1')}.toe")
    tracks = []
    for number, leg in enumerate(throat(box, "west", roads), 1):
        track = box.track(f"road-{number}", leg, "buffer", length_mm=1600)
        box.platform(str(number), track)
        tracks.append(track)
    homes = box.post(line.down, "down", *calling(box, tracks), mount="gantry")
    box.distant(line.down, "down", 6500, *homes[:roads])
    for track in tracks:
        box.post(track, "up", {"to": neck}, **starter(box, track))
    box.post(neck, "up")
    box.disc(neck, "down")
    box.scene("arriving", off=homes[:1], trains=dict.fromkeys(tracks[1:], "local"))


def great_station(box: Box, line: Line, roads: int) -> Line:
    """A number of platform roads between two scissors crossovers: 2 x roads + 4 points."""
    box.meets(line.down, f"{box.id('w1')}.toe")
    box.meets(line.up, f"{box.id('w3')}.toe")
    legs = zip(throat(box, "west", roads), throat(box, "east", roads)[::-1], strict=True)
    tracks = []
    for number, (west, east) in enumerate(legs, 1):
        track = box.track(f"road-{number}", west, east, length_mm=1600)
        box.platform(str(number), track)
        tracks.append(track)
    onward = box.open_line(f"{box.id('e3')}.toe", f"{box.id('e1')}.toe")
    for arriving, way, at_mm in ((line.down, "down", 6500), (onward.up, "up", 2500)):
        ordered = tracks if way == "down" else tracks[::-1]
        homes = box.post(arriving, way, *calling(box, ordered), mount="gantry")
        box.distant(arriving, way, at_mm, *homes[:roads])
        for track in tracks:
            box.post(track, way, **starter(box, track))
    return onward


# --- what stations are put together from


def goods_yard(box: Box, entry: str, count: int) -> None:
    """A fan of roads, worked by hand signals, and at times a turntable at its end."""
    tracks, names = [box.track("yard-0", entry, "buffer")], []
    for number in range(1, count + 1):
        names.append(box.points(f"y{number}", "right"))
        box.meets(tracks[-1], f"{names[-1]}.toe")
        box.track(f"road-y{number}", f"{names[-1]}.left", "buffer")
        tracks.append(box.track(f"yard-{number}", f"{names[-1]}.right", "buffer"))
    tracks += [box.id(f"road-y{number}") for number in range(1, count + 1)]
    yard: Plan = {"tracks": tracks, "points": names}
    if count > 3:
        table = box.id("table")
        box.ground.turntables[table] = {"roads": ["lead", "1", "2"]}
        box.meets(box.id(f"yard-{count}"), f"{table}.lead")
        tracks += [box.track(f"stall-{road}", f"{table}.{road}", "buffer") for road in "12"]
        yard["turntables"] = [table]
    box.ground.yards[box.id("yard")] = yard
    box.disc(tracks[0], "up")


def reception(box: Box, leg: str, partner: str, yard: int) -> str:
    """A road behind trap points, which lie for it only when ``partner`` does, and its yard."""
    trap = box.points("trap", "right", trap=True)
    box.track("goods-lead", leg, f"{trap}.left")
    box.track("drag", "buffer", f"{trap}.right", stand=False, length_mm=120)
    box.together(partner, "trap")
    far = box.joint("yard") if yard else "buffer"
    road = box.track("reception", f"{trap}.toe", far, stand=True, length_mm=1700)
    box.post(road, "up", duties=[f"holds {road}"])
    if yard:
        box.disc(road, "down")
        goods_yard(box, far, yard)
    return road


def throat(box: Box, side: Side, roads: int) -> list[str]:
    """A scissors crossover and a ladder on either side of it.

    Return the ends of the roads, from left to right as trains come in.

    Trains come in at ``1.toe`` and go out at ``3.toe`` of the points that are named after the side.
    """
    to = side[0]
    one, two = box.points(f"{to}1"), box.points(f"{to}2")
    three, four = box.points(f"{to}3", "right"), box.points(f"{to}4", "right")
    diamond = box.id(f"{to}x")
    box.ground.crossings[diamond] = {}
    for name, outer, inner in (
        ("near-straight", f"{one}.left", f"{four}.right"),
        ("near-west", f"{one}.right", f"{diamond}.a1"),
        ("near-east", f"{diamond}.a2", f"{two}.right"),
        ("far-straight", f"{three}.right", f"{two}.left"),
        ("far-west", f"{three}.left", f"{diamond}.b1"),
        ("far-east", f"{diamond}.b2", f"{four}.left"),
    ):
        box.across(f"{to}-{name}", side, outer, inner)
    box.together(f"{to}1", f"{to}2")
    box.together(f"{to}3", f"{to}4")
    near = (roads + 1) // 2
    return [
        *_ladder(box, side, f"{to}n", f"{four}.toe", near),
        *_ladder(box, side, f"{to}f", f"{two}.toe", roads - near),
    ]


def _ladder(box: Box, side: Side, name: str, start: str, roads: int) -> list[str]:
    """Divide a road into `roads`; return their ends, left to right for arriving trains."""
    ends, leg = [], start
    for number in range(1, roads):
        points = box.points(f"{name}{number}")
        box.across(f"{name}-{number}", side, leg, f"{points}.toe")
        ends.append(f"{points}.left")
        leg = f"{points}.right"
    return [*ends, leg]


def calling(box: Box, tracks: list[str]) -> list[Plan]:
    """Return arms for a number of roads, with a calling-on arm below the last."""
    arms: list[Plan] = [{"to": track} for track in tracks]
    letter = chr(ord("A") + len(tracks) - 1)
    below = f"{box.id(str(box.numbers + 1))}{letter}"
    return [*arms, {"kind": "calling-on", "under": below, "to": tracks[-1]}]


def starter(box: Box, track: str) -> Plan:
    """Return the expected duties of the signal at the end of a platform road."""
    number = track.rpartition("-")[2]
    return {"duties": [f"starter platform {box.id(number)}"]}
