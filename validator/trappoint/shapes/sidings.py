"""Sidings and yards beside the line: their points, trap points, headshunts and ladders."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.shapes.ground import SIDING_MM, Line, along, opposite

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint.shapes.ground import Edge, Running, Side, Site, Turnout
    from trappoint.shapes.options import Wish

    Opens = Callable[[str, str, Running], str]
    """Lays the track that goes on east: takes its name, its west end and how trains run on it."""


class Beside(NamedTuple):
    """Points on a line, from which a track leads away, and the line beyond them."""

    points: Turnout
    onward: Line


def siding(site: Site, line: Line, wish: Wish) -> Line:
    """Lay one siding, from the nearer track of a double line."""
    points, onward = leave_line(site, line, opposite(wish.buffers), wish.side)
    end = points.branch
    if wish.trap == "yes":
        end = trap_points(site, points, wish.buffers, wish.side, lead="lead")
    site.track("siding", *along(wish.buffers, end, "buffer"), length_mm=SIDING_MM)
    return onward


def ladder_yard(site: Site, line: Line, wish: Wish) -> Line:
    """Lay a yard of roads on a ladder, behind trap points, under hand signals.

    On a double line, trains set back to and from the yard on a neck with trains both ways.
    """
    return yard_beside(site, line, wish, wish.roads)


def yard_beside(site: Site, line: Line, wish: Wish, roads: int, opens: Opens | None = None) -> Line:
    """Lay a ladder yard; return the line that goes on east, opened by ``opens``."""
    points, onward = leave_line(site, line, opposite(wish.buffers), wish.side, opens)
    end = points.branch
    if wish.trap == "yes":
        end = trap_points(site, points, wish.buffers, wish.side, lead="goods-lead")
    joint = site.joint("goods")
    site.road("reception", *along(wish.buffers, end, joint))
    with site.in_yard("goods"):
        _ladder(site, joint, wish.buffers, wish.side, roads)
    return onward


def headshunt(site: Site, line: Line, wish: Wish) -> Line:
    """Lay a yard with a headshunt, which goes on beside the line, opposite the yard's roads.

    The yard begins at its lead, so an engine shunts clear of the line.
    """
    way, back = wish.buffers, opposite(wish.buffers)
    points, onward = leave_line(site, line, back, wish.side)
    with site.in_yard("goods"):
        meeting = site.turnout(way, wish.side)
        site.track("goods-lead", *along(way, points.branch, meeting.main))
        site.track("headshunt", *along(back, meeting.branch, "buffer"), length_mm=SIDING_MM)
        _ladder(site, meeting.toe, way, wish.side, wish.roads)
    return onward


def leave_line(site: Site, line: Line, toe: Side, side: Edge, opens: Opens | None = None) -> Beside:
    """Lay points with their toe to the west or east, for a track to the north or south.

    On a double line the points are in the track on that side, and trains run both ways on a neck
    before their toe: they set back there.
    """
    ground = site.ground
    opens = opens or ground.open_track
    points = site.turnout(toe, side)
    if line.lines == 1:
        west, east = (points.toe, points.main) if toe == "west" else (points.main, points.toe)
        ground.meets(line.down, west)
        only = opens("line", east, "both")
        return Beside(points, Line(only, only))
    running: Running = "down" if side == "north" else "up"
    track = line.down if side == "north" else line.up
    joint = site.joint("neck")
    if toe == "west":
        ground.meets(track, joint)
        site.road("neck", joint, points.toe)
        track = opens(f"{running}-line", points.main, running)
    else:
        ground.meets(track, points.main)
        site.road("neck", points.toe, joint)
        track = opens(f"{running}-line", joint, running)
    return Beside(points, Line(track, line.up) if side == "north" else Line(line.down, track))


def trap_points(site: Site, points: Turnout, way: Side, side: Edge, *, lead: str) -> str:
    """Lay trap points with a sand drag behind a siding's points; return where the siding begins.

    ``way`` is the direction from the line into the siding. One lever works both points.
    """
    trap = site.turnout(way, side, to_branch=True, trap=True)
    site.track(lead, *along(way, points.branch, trap.main))
    site.track("sand-drag", *along(opposite(way), trap.branch, "buffer"), stand=False)
    site.together(points.points, trap.points)
    return trap.toe


def _ladder(site: Site, near: str, way: Side, side: Edge, roads: int) -> None:
    """Lay the neck of a yard, its ladder and its roads, which end at buffers."""
    neck = site.track("shunting-neck", *along(way, near, ""))
    fan = site.fan(opposite(way), roads, "north" if side == "south" else "south", name="ladder")
    site.ground.meets(neck, fan.toe)
    for number, leg in enumerate(fan.legs, 1):
        site.track(f"siding-{number}", *along(way, leg, "buffer"))
