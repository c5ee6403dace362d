"""Crossovers on a double line, and changes between single and double line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.shapes.ground import Line

if TYPE_CHECKING:
    from trappoint.shapes.ground import Site
    from trappoint.shapes.options import Wish


def crossover_pair(site: Site, line: Line, wish: Wish) -> Line:
    """Lay two crossovers, over which down trains pass a train that stands on the down line.

    Trains run both ways on the up line between them, and trains from either side turn back there.
    """
    down, up = to_the_south(site, line)
    roads = [site.road("down-middle", down, "", "down"), site.road("up-middle", up, "")]
    east = to_the_north(site, Line(*roads))
    site.platforms(roads, wish)
    return site.ground.open_line(east)


def crossover(site: Site, line: Line, wish: Wish) -> Line:
    """Lay one crossover between the tracks of a double line.

    Trains on their usual line meet its points from a leg (trailing) or from the toe (facing). On
    either line trains run both ways on the track beyond, where they turn back.
    """
    west, east, lay = ("down", "up", to_the_south)
    if wish.facing == "no":
        west, east, lay = ("up", "down", to_the_north)
    joint = site.joint(f"{west}-reversal")
    site.ground.meets(getattr(line, west), joint)
    begun = line._replace(**{west: site.road(f"{west}-reversal", joint, "")})
    ends = dict(zip(("down", "up"), lay(site, begun), strict=True))
    joint = site.joint(f"{east}-reversal")
    site.road(f"{east}-reversal", ends[east], joint)
    ends[east] = joint
    return site.ground.open_line((ends["down"], ends["up"]))


def scissors(site: Site, line: Line) -> Line:
    """Lay two crossovers that cross each other on a diamond.

    Trains from the down line reach all tracks to the east, and leave them by the up line. Returns
    the two tracks that lead on to the east, with trains both ways.
    """
    ground = site.ground
    down_west, up_west = site.points("left"), site.points("right")
    down_east, up_east = site.points("right"), site.points("left")
    diamond = ground.diamond()
    ground.meets(line.down, f"{down_west}.toe")
    ground.meets(line.up, f"{up_west}.toe")
    site.link("west", f"{down_west}.left", f"{down_east}.right", "down")
    site.link("west", f"{down_west}.right", f"{diamond}.a1", "down")
    site.link("west", f"{diamond}.a2", f"{up_east}.right", "down")
    site.link("west", f"{up_west}.left", f"{diamond}.b1", "up")
    site.link("west", f"{diamond}.b2", f"{down_east}.left", "up")
    site.link("west", f"{up_west}.right", f"{up_east}.left", "up")
    site.together(down_west, up_east)
    site.together(up_west, down_east)
    return Line(site.link("west", f"{down_east}.toe", ""), site.link("west", f"{up_east}.toe", ""))


def to_the_south(site: Site, line: Line) -> tuple[str, str]:
    """Lay a crossover from the down line in the west to the up line in the east.

    Returns the ends of the points at which the down line and the up line go on east.
    """
    down, up = site.points("left"), site.points("left")
    site.ground.meets(line.down, f"{down}.toe")
    site.ground.meets(line.up, f"{up}.left")
    site.link("west", f"{down}.right", f"{up}.right")
    site.together(down, up)
    return f"{down}.left", f"{up}.toe"


def to_the_north(site: Site, line: Line) -> tuple[str, str]:
    """Lay a crossover from the up line in the west to the down line in the east.

    Returns the ends of the points at which the down line and the up line go on east.
    """
    down, up = site.points("right"), site.points("right")
    site.ground.meets(line.down, f"{down}.right")
    site.ground.meets(line.up, f"{up}.toe")
    site.link("west", f"{up}.left", f"{down}.left")
    site.together(down, up)
    return f"{down}.toe", f"{up}.right"


def make_single(site: Site, line: Line) -> Line:
    """Join a double line into a single one, and return that."""
    points = site.points("left")
    site.ground.meets(line.down, f"{points}.right")
    site.ground.meets(line.up, f"{points}.left")
    return site.ground.open_line((f"{points}.toe",))


def make_double(site: Site, line: Line) -> Line:
    """Split a single line into a down and an up line, and return them."""
    points = site.points("left")
    site.ground.meets(line.down, f"{points}.toe")
    return site.ground.open_line((f"{points}.left", f"{points}.right"))
