"""Crossovers between the two lines of a double one, and where it becomes single."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.templates.ground import Line

if TYPE_CHECKING:
    from trappoint.templates.ground import Site
    from trappoint.templates.wishes import Wish


def crossover_pair(site: Site, line: Line, wish: Wish) -> Line:
    """Two crossovers, over which down trains pass one that stands on the down line.

    Between them the up line is run both ways, and trains from either side turn back there.
    """
    down, up = to_the_south(site, line)
    roads = [site.road("down-middle", down, "", "down"), site.road("up-middle", up, "")]
    east = to_the_north(site, Line(*roads))
    site.platforms(roads, wish.platforms)
    return site.ground.open_line(east)


def throat(site: Site, line: Line) -> Line:
    """Lay two crossovers, so that all that lies east can be reached from the down line and left.

    Return the two tracks that lead on, on which trains run both ways.
    """
    down, up = to_the_north(site, line)
    middle = Line(site.link("west", down, ""), site.link("west", up, "", "up"))
    down, up = to_the_south(site, middle)
    return Line(site.link("west", down, ""), site.link("west", up, ""))


def to_the_south(site: Site, line: Line) -> tuple[str, str]:
    """Lay a crossover from the down line in the west to the up line in the east.

    Return what the down and the up line east of it begin at.
    """
    down, up = site.points("left"), site.points("left")
    site.ground.meets(line.down, f"{down}.toe")
    site.ground.meets(line.up, f"{up}.left")
    site.link("west", f"{down}.right", f"{up}.right")
    site.together(down, up)
    return f"{down}.left", f"{up}.toe"


def to_the_north(site: Site, line: Line) -> tuple[str, str]:
    """Lay a crossover from the up line in the west to the down line in the east.

    Return what the down and the up line east of it begin at.
    """
    down, up = site.points("right"), site.points("right")
    site.ground.meets(line.down, f"{down}.right")
    site.ground.meets(line.up, f"{up}.toe")
    site.link("west", f"{up}.left", f"{down}.left")
    site.together(down, up)
    return f"{down}.toe", f"{up}.right"


def make_single(site: Site, line: Line) -> Line:
    """Bring a double line together to a single one."""
    points = site.points("left")
    site.ground.meets(line.down, f"{points}.right")
    site.ground.meets(line.up, f"{points}.left")
    return site.ground.open_line((f"{points}.toe",))


def make_double(site: Site, line: Line) -> Line:
    """Part a single line into a down and an up line."""
    points = site.points("left")
    site.ground.meets(line.down, f"{points}.toe")
    return site.ground.open_line((f"{points}.left", f"{points}.right"))
