"""Stations: each takes a line that comes from the west, and returns how it goes on east."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.shapes.crossovers import scissors

if TYPE_CHECKING:
    from trappoint.shapes.ground import Edge, Line, Running, Site
    from trappoint.shapes.options import Wish


def passing_loop(site: Site, line: Line, wish: Wish) -> Line:
    """Roads side by side on a single line. Points lie for the outer road on a driver's left."""
    return _single(site, line, wish.roads, wish.platforms, main=("north", "south"))


def through_station(site: Site, line: Line, wish: Wish) -> Line:
    """Roads side by side between two lines; on a double line each way has its own."""
    if wish.lines == 1:
        return _single(site, line, wish.roads, wish.platforms)
    return _double(site, line, wish.roads, wish.platforms)


def round_and_round(site: Site, line: Line, wish: Wish) -> Line:
    """A station, and beyond it roads out of sight on which trains wait for their turn."""
    onward = through_station(site, line, wish)
    lay = _single if wish.lines == 1 else _double
    return lay(site, onward, wish.hidden, 0, name="hidden")


def terminus(site: Site, line: Line, wish: Wish) -> None:
    """Roads that end at buffers. From a double line each of them can be reached and left."""
    if wish.lines == 2:
        line = scissors(site, line)
    # The northern roads go on from the down line, the southern ones from the up line.
    parts: list[tuple[str, int, Edge]] = [(line.down, wish.roads, "north")]
    if wish.lines == 2:
        north = (wish.roads + 1) // 2
        parts = [(line.down, north, "south"), (line.up, wish.roads - north, "north")]
    roads: list[str] = []
    for track, count, main in parts:
        fan = site.fan("west", count, main, name=f"home-{len(roads) + 1}")
        site.ground.meets(track, fan.toe)
        for leg in fan.legs:
            roads.append(site.road(f"road-{len(roads) + 1}", leg, "buffer"))
    site.platforms(roads, wish.platforms)


def _single(
    site: Site,
    line: Line,
    roads: int,
    platforms: int,
    *,
    main: tuple[Edge, Edge] = ("north", "north"),
    name: str = "road",
) -> Line:
    laid, east = _roads(site, line.down, range(1, roads + 1), main, name=name)
    site.platforms(laid, platforms)
    return site.ground.open_line((east,))


def _double(site: Site, line: Line, roads: int, platforms: int, *, name: str = "road") -> Line:
    """Lay roads for each way, loops on the outside of the lines that go straight through."""
    last = (roads + 1) // 2
    of_down, down_east = _roads(
        site, line.down, range(1, last + 1), ("south", "south"), "down", name=name
    )
    of_up, up_east = _roads(
        site, line.up, range(last + 1, roads + 1), ("north", "north"), "up", name=name
    )
    site.platforms([*of_down, *of_up], platforms)
    return site.ground.open_line((down_east, up_east))


def _roads(
    site: Site,
    track: str,
    numbers: range,
    main: tuple[Edge, Edge],
    running: Running = "both",
    *,
    name: str,
) -> tuple[list[str], str]:
    """Lay numbered roads on from a track; return them, and what the line east of them begins at."""
    count, first = len(numbers), numbers[0]
    west = site.fan("west", count, main[0], running=running, name=f"{name}-{first}-west")
    site.ground.meets(track, west.toe)
    east = site.fan("east", count, main[1], running=running, name=f"{name}-{first}-east")
    laid = [
        site.road(f"{name}-{number}", *ends, running)
        for number, ends in zip(numbers, zip(west.legs, east.legs, strict=True), strict=True)
    ]
    return laid, east.toe
