"""Junctions, triangles and loops: another line leaves the line, or it comes back to itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.shapes.ground import ROAD_MM, Line, hands

if TYPE_CHECKING:
    from trappoint.shapes.ground import Site
    from trappoint.shapes.options import Wish


def junction(site: Site, line: Line, wish: Wish) -> Line:
    """Lay a junction; a double branch crosses the nearer line on a diamond."""
    ground = site.ground
    near, far = (line.down, line.up) if wish.side == "north" else (line.up, line.down)
    parts = site.turnout("west", wish.side)
    ground.meets(near, parts.toe)
    if wish.lines == 1:
        _leave(site, (parts.branch,))
        return ground.open_line((parts.main,))
    joins = site.turnout("west", wish.side)
    diamond = ground.diamond()
    ground.meets(far, joins.toe)
    # The road that begins in the north runs from a1 to a2.
    if wish.side == "north":
        site.link("west", parts.main, f"{diamond}.a1", "down")
        site.link("west", joins.branch, f"{diamond}.b1", "up")
        _leave(site, (parts.branch, f"{diamond}.b2"))
        return ground.open_line((f"{diamond}.a2", joins.main))
    site.link("west", joins.branch, f"{diamond}.a1", "down")
    site.link("west", parts.main, f"{diamond}.b1", "up")
    _leave(site, (f"{diamond}.a2", parts.branch))
    return ground.open_line((joins.main, f"{diamond}.b2"))


def triangle(site: Site, line: Line, wish: Wish) -> Line:
    """Lay a triangle: a branch that trains reach from the west and from the east."""
    ground = site.ground
    west, east = site.turnout("west", wish.side), site.turnout("east", wish.side)
    # Its toe is towards the branch: from there the east is on the left if the branch is north.
    to_east, to_west = hands("east", "south" if wish.side == "north" else "north")
    top = site.points(to_west)
    ground.meets(line.down, west.toe)
    site.track("base", west.main, east.main, length_mm=ROAD_MM)
    site.track("west-curve", west.branch, f"{top}.{to_west}", length_mm=ROAD_MM)
    site.track("east-curve", f"{top}.{to_east}", east.branch, length_mm=ROAD_MM)
    # Trains need both reversed over the east curve, and only there.
    site.together(east.points, top)
    _leave(site, (f"{top}.toe",))
    return ground.open_line((east.toe,))


def _leave(site: Site, west: tuple[str, ...]) -> None:
    """Lay a branch that leaves the plan."""
    branch = site.ground.open_line(west, "branch")
    site.ground.leave(branch, site.ground.free_edges("branch", len(west)))


def balloon_loop(site: Site, line: Line, wish: Wish) -> None:
    """Lay a loop in which the line comes back to itself, with one road or several side by side."""
    points = site.points("left")
    site.ground.meets(line.down, f"{points}.toe")
    north = site.fan_from("west", f"{points}.left", wish.roads, "north", name="loop-north")
    south = site.fan_from("west", f"{points}.right", wish.roads, "south", name="loop-south")
    # The outermost road is the northernmost of one ladder and the southernmost of the other.
    for number, ends in enumerate(zip(north, reversed(south), strict=True), 1):
        site.road(f"road-{number}", *ends)
