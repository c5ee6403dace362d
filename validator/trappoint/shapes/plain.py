"""Plain track: a line that runs on, straight or round a corner."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from trappoint.shapes.ground import Line

if TYPE_CHECKING:
    from trappoint.shapes.ground import Site
    from trappoint.shapes.options import Wish


def plain_line(site: Site, line: Line, wish: Wish) -> Line:
    """Lay plain track beyond a joint."""
    return _beyond_joint(site, line, length_mm=wish.length)


def corner(site: Site, line: Line, wish: Wish) -> Line:
    """Lay a quarter of a circle beyond a joint; its length follows from its radius."""
    length = round(math.pi / 2 * wish.radius)
    return _beyond_joint(site, line, length_mm=length, radius_mm=wish.radius)


def _beyond_joint(site: Site, line: Line, **more: Any) -> Line:
    """Lay the line on beyond joints; trains do not wait both before and beyond them."""
    names = ("plain",) if line.lines == 1 else ("plain-down", "plain-up")
    joints = tuple(site.joint(name) for name in names)
    onward = site.ground.open_line(joints, **more)
    for track in (*line, *onward):
        site.ground.tracks[track].pop("stand", None)
    for track, joint in {line.down: joints[0], line.up: joints[-1]}.items():
        site.ground.meets(track, joint)
    return onward
