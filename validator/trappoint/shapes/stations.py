"""Stations: each function takes the line from the west and returns the line that goes on east."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.shapes.crossovers import scissors, to_the_north, to_the_south
from trappoint.shapes.ground import ENGINE_MM, Line, along, opposite
from trappoint.shapes.sidings import yard_beside

if TYPE_CHECKING:
    from trappoint.shapes.ground import Edge, Running, Site
    from trappoint.shapes.options import Wish


def passing_loop(site: Site, line: Line, wish: Wish) -> Line:
    """Lay roads side by side on a single line; points normally lie for the driver's left road."""
    laid, east = _roads(site, line.down, range(1, wish.roads + 1), ("north", "south"))
    site.platforms(laid, wish)
    return site.ground.open_line((east,))


def through_station(site: Site, line: Line, wish: Wish) -> Line:
    """Lay roads side by side; on a double line each way has its own roads.

    The loops lie outside the two lines that go straight through.
    """
    laid, ends = _side_by_side(site, line, wish.roads)
    site.platforms(laid, wish)
    return site.ground.open_line(ends)


def goods_station(site: Site, line: Line, wish: Wish) -> Line:
    """Lay a station with a yard beside it, behind points at the west end of the station."""

    def opens(name: str, west: str, running: Running) -> str:
        return site.link("west", west, "", running)

    return through_station(site, yard_beside(site, line, wish, wish.sidings, opens), wish)


def round_and_round(site: Site, line: Line, wish: Wish) -> Line:
    """Lay a station and, beyond it, hidden roads on which trains wait for their turn."""
    onward = through_station(site, line, wish)
    _, ends = _side_by_side(site, onward, wish.hidden, name="hidden")
    return site.ground.open_line(ends)


def terminus(site: Site, line: Line, wish: Wish) -> None:
    """Lay roads that end at buffers; trains on a double line can reach and leave each of them."""
    if wish.lines == 2:
        line = scissors(site, line)
    # The northern roads begin at the down line, the southern ones at the up line.
    parts: list[tuple[str, int, Edge]] = [(line.down, wish.roads, "north")]
    if wish.lines == 2:
        north = (wish.roads + 1) // 2
        parts = [(line.down, north, "south"), (line.up, wish.roads - north, "north")]
    roads: list[str] = []
    for track, count, main in parts:
        fan = site.fan("west", count, main, name=f"home-{len(roads) + 1}")
        site.ground.meets(track, fan.toe)
        for leg in fan.legs:
            end = "" if len(roads) < 2 * wish.release else "buffer"
            roads.append(site.road(f"road-{len(roads) + 1}", leg, end))
    site.platforms(roads, wish)
    for number in range(1, 2 * wish.release, 2):
        _release(site, roads[number - 1 : number + 1], number)


def _release(site: Site, roads: list[str], number: int) -> None:
    """Lay a crossover at the buffers, by which an engine leaves its train for the road beside it.

    The engine stands beyond the points, and sets back over them.
    """
    north, south = site.turnout("east", "south"), site.turnout("west", "north")
    site.ground.meets(roads[0], north.main)
    site.ground.meets(roads[1], south.toe)
    site.track(f"release-{number}", north.toe, "buffer", length_mm=ENGINE_MM)
    site.track(f"release-{number + 1}", south.main, "buffer", length_mm=ENGINE_MM)
    site.link("west", south.branch, north.branch)
    site.together(north.points, south.points)


def bay_station(site: Site, line: Line, wish: Wish) -> Line:
    """Lay a station with bays: roads that begin at one end of the station and end at buffers.

    On a double line a crossover joins the bays to the line on the far side.
    """
    if wish.buffers == "east":
        line, bays = _bays_to_the_east(site, line, wish)
        laid, ends = _side_by_side(site, line, wish.roads)
    else:
        laid, ends = _side_by_side(site, line, wish.roads)
        ends, bays = _bays_to_the_west(site, _links(site, ends), wish)
    # A bay shares an island with the road beside it.
    if wish.side == "north":
        site.platforms([*bays, *laid], wish, first="south")
    else:
        site.platforms([*laid, *bays], wish)
    return site.ground.open_line(ends)


def _bays_to_the_east(site: Site, line: Line, wish: Wish) -> tuple[Line, list[str]]:
    """Lay bays that begin west of the station; return the line that goes on, and the bays."""
    near: Running = "down" if wish.side == "north" else "up"
    far: Running = "up" if near == "down" else "down"
    if line.lines == 2:
        cross = to_the_north if near == "down" else to_the_south
        ends = dict(zip(("down", "up"), cross(site, line), strict=True))
        beyond = site.link("west", ends[far], "", far)
        line = line._replace(**{near: site.link("west", ends[near], ""), far: beyond})
    points = site.turnout("west", wish.side)
    site.ground.meets(getattr(line, near), points.toe)
    running: Running = near if line.lines == 2 else "both"
    onward = site.link("west", points.main, "", running)
    line = line._replace(**{near: onward}) if line.lines == 2 else Line(onward, onward)
    return line, _bay_roads(site, points.branch, wish)


def _bays_to_the_west(site: Site, line: Line, wish: Wish) -> tuple[tuple[str, ...], list[str]]:
    """Lay bays that begin east of the station; return where the line goes on, and the bays."""
    near = "down" if wish.side == "north" else "up"
    points = site.turnout("east", wish.side)
    site.ground.meets(getattr(line, near), points.main)
    ends: tuple[str, ...] = (points.toe,)
    if line.lines == 2:
        cross = to_the_south if near == "down" else to_the_north
        ends = cross(site, line._replace(**{near: site.link("west", points.toe, "")}))
    return ends, _bay_roads(site, points.branch, wish)


def _bay_roads(site: Site, leg: str, wish: Wish) -> list[str]:
    """Lay the bays from a leg of points to their buffers; return them from north to south."""
    main: Edge = "south" if wish.side == "north" else "north"
    legs = site.fan_from(opposite(wish.buffers), leg, wish.bays, main, name="bay")
    return [
        site.road(f"bay-{number}", *along(wish.buffers, end, "buffer"))
        for number, end in enumerate(legs, 1)
    ]


def _links(site: Site, ends: tuple[str, ...]) -> Line:
    """Lay short tracks from where a line goes on."""
    if len(ends) == 1:
        only = site.link("west", ends[0], "")
        return Line(only, only)
    return Line(site.link("west", ends[0], "", "down"), site.link("west", ends[1], "", "up"))


def _side_by_side(
    site: Site, line: Line, roads: int, *, name: str = "road"
) -> tuple[list[str], tuple[str, ...]]:
    """Lay roads side by side; return them and the ends where the line goes on."""
    if line.lines == 1:
        laid, east = _roads(site, line.down, range(1, roads + 1), ("north", "north"), name=name)
        return laid, (east,)
    last = (roads + 1) // 2
    of_down, down_east = _roads(
        site, line.down, range(1, last + 1), ("south", "south"), "down", name=name
    )
    of_up, up_east = _roads(
        site, line.up, range(last + 1, roads + 1), ("north", "north"), "up", name=name
    )
    return [*of_down, *of_up], (down_east, up_east)


def _roads(
    site: Site,
    track: str,
    numbers: range,
    main: tuple[Edge, Edge],
    running: Running = "both",
    *,
    name: str = "road",
) -> tuple[list[str], str]:
    """Lay numbered roads from a track; return them and the end where the line goes on east."""
    count, first = len(numbers), numbers[0]
    west = site.fan("west", count, main[0], running=running, name=f"{name}-{first}-west")
    site.ground.meets(track, west.toe)
    east = site.fan("east", count, main[1], running=running, name=f"{name}-{first}-east")
    laid = [
        site.road(f"{name}-{number}", *ends, running)
        for number, ends in zip(numbers, zip(west.legs, east.legs, strict=True), strict=True)
    ]
    return laid, east.toe
