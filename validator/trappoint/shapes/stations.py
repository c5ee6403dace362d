"""Stations: each function takes the line from the west and returns the line that goes on east."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.shapes.crossovers import scissors

if TYPE_CHECKING:
    from trappoint.shapes.ground import Edge, Line, Running, Site
    from trappoint.shapes.options import Wish


def passing_loop(site: Site, line: Line, wish: Wish) -> Line:
    """Lay roads side by side on a single line; points normally lie for the driver's left road."""
    return _single(site, line, wish.roads, wish.platforms, main=("north", "south"))


def through_station(site: Site, line: Line, wish: Wish) -> Line:
    """Lay roads side by side; on a double line each way has its own roads."""
    if wish.lines == 1:
        return _single(site, line, wish.roads, wish.platforms)
    return _double(site, line, wish.roads, wish.platforms)


def round_and_round(site: Site, line: Line, wish: Wish) -> Line:
    """Lay a station and, beyond it, hidden roads on which trains wait for their turn."""
    onward = through_station(site, line, wish)
    lay = _single if wish.lines == 1 else _double
    return lay(site, onward, wish.hidden, 0, name="hidden")


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
    """Lay roads for each way, with loops outside the two lines that go straight through."""
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
