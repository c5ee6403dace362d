"""Junctions and yards: another line or a yard leaves the line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.shapes.ground import Line

if TYPE_CHECKING:
    from trappoint.shapes.ground import Site
    from trappoint.shapes.options import Wish


def junction(site: Site, line: Line, wish: Wish) -> Line:
    """Lay a junction to the north; a double branch crosses the down line on a diamond."""
    ground = site.ground
    parts = site.points("right")
    ground.meets(line.down, f"{parts}.toe")
    if wish.lines == 1:
        _leave(site, (f"{parts}.left",))
        return ground.open_line((f"{parts}.right",))
    joins = site.points("right")
    diamond = ground.diamond()
    ground.meets(line.up, f"{joins}.toe")
    site.link("west", f"{parts}.right", f"{diamond}.a1", "down")
    site.link("west", f"{joins}.left", f"{diamond}.b1", "up")
    _leave(site, (f"{parts}.left", f"{diamond}.b2"))
    return ground.open_line((f"{diamond}.a2", f"{joins}.right"))


def _leave(site: Site, west: tuple[str, ...]) -> None:
    branch = site.ground.open_line(west, "branch")
    number = int(branch.down.rpartition("-")[2])
    site.ground.leave(branch, "branch" if number == 1 else f"branch-{number}")


def ladder_yard(site: Site, line: Line, wish: Wish) -> Line:
    """Lay a yard of roads on a ladder, to the south, behind trap points, under hand signals.

    On a double line, trains set back into the yard from the up line.
    """
    ground = site.ground
    points, trap = site.points("left"), site.points("left", trap=True)
    if wish.lines == 1:
        ground.meets(line.down, f"{points}.toe")
        onward = ground.open_line((f"{points}.left",))
    else:
        ground.meets(line.up, site.joint("neck"))
        site.road("neck", site.joint("neck"), f"{points}.toe")
        onward = Line(line.down, ground.open_track("up-line", f"{points}.left", "up"))
    site.track("goods-lead", f"{points}.right", f"{trap}.right")
    site.track("sand-drag", "buffer", f"{trap}.left", stand=False)
    site.together(points, trap)
    site.road("reception", f"{trap}.toe", site.joint("goods"))
    _yard(site, wish.roads)
    return onward


def _yard(site: Site, roads: int) -> None:
    """Lay the ladder and its roads, which end at buffers."""
    ground = site.ground
    laid = len(ground.points)
    known = set(ground.tracks)
    shunt = site.track("shunting-neck", site.joint("goods"), "")
    fan = site.fan("west", roads, "north", name="ladder")
    ground.meets(shunt, fan.toe)
    for number, leg in enumerate(fan.legs, 1):
        site.track(f"siding-{number}", leg, "buffer")
    tracks = [key for key in ground.tracks if key not in known]
    site.yard("goods", tracks, list(ground.points)[laid:])
