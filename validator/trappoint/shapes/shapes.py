"""All shapes, and the options of each."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.shapes.branching import balloon_loop, junction, triangle
from trappoint.shapes.crossovers import crossover, crossover_pair
from trappoint.shapes.options import Choice, Range
from trappoint.shapes.plain import corner, plain_line
from trappoint.shapes.sidings import headshunt, ladder_yard, siding
from trappoint.shapes.stations import (
    bay_station,
    goods_station,
    passing_loop,
    round_and_round,
    terminus,
    through_station,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint.shapes.ground import Line, Site
    from trappoint.shapes.options import Takes, Wish

MAX_ROADS = 12


class Shape(NamedTuple):
    """A piece of track that can be laid along a line."""

    name: str
    called: str
    """Its name in a sentence."""
    told: str
    """Its description, in a few words."""
    short: str
    """The name that begins the ids of its tracks if the plan has several shapes."""
    takes: Takes
    """The ranges of its options, by name."""
    lay: Callable[[Site, Line, Wish], Line | None]
    """Lays it at the end of a line and returns the line that goes on; None if the line ends."""
    ends: bool = False
    """True if the line ends there."""
    closed: bool = False
    """True if it is a circuit, which cannot be joined to another shape."""
    each_way: tuple[str, ...] = ()
    """The options that are at least 2 on a double line, one for each way."""


SINGLE, DOUBLE = Range(1, 1, 2), Range(1, 2, 2)
PLATFORMS, FACES = Range(0, 2, MAX_ROADS), Range(0, 0, MAX_ROADS)
NORTH, SOUTH = Choice(("north", "south")), Choice(("south", "north"))
EAST, WEST = Choice(("east", "west")), Choice(("west", "east"))
NO, YES = Choice(("no", "yes")), Choice(("yes", "no"))


def _roads(least: int, usual: int) -> Range:
    return Range(least, usual, MAX_ROADS)


SHAPES: dict[str, Shape] = {
    shape.name: shape
    for shape in (
        Shape(
            "through-station",
            "a through station",
            "roads side by side; on a double line each way has its own",
            "station",
            {"lines": DOUBLE, "roads": _roads(1, 4), "platforms": PLATFORMS, "faces": FACES},
            through_station,
            each_way=("roads",),
        ),
        Shape(
            "passing-loop",
            "a passing loop",
            "two roads or more on a single line, where trains pass",
            "loop",
            {
                "lines": Range(1, 1, 1),
                "roads": _roads(2, 2),
                "platforms": Range(0, 1, MAX_ROADS),
                "faces": FACES,
            },
            passing_loop,
        ),
        Shape(
            "terminus",
            "a terminus",
            "roads that end at buffers; release: crossovers for engines there",
            "terminus",
            {
                "lines": SINGLE,
                "roads": _roads(1, 3),
                "platforms": PLATFORMS,
                "faces": FACES,
                "release": Range(0, 0, MAX_ROADS // 2),
            },
            terminus,
            ends=True,
            each_way=("roads",),
        ),
        Shape(
            "bay-station",
            "a station with bays",
            "a through station with bays, which end at buffers",
            "station",
            {
                "lines": DOUBLE,
                "roads": _roads(1, 2),
                "bays": Range(1, 1, 4),
                "platforms": PLATFORMS,
                "faces": FACES,
                "side": NORTH,
                "buffers": EAST,
            },
            bay_station,
            each_way=("roads",),
        ),
        Shape(
            "goods-station",
            "a station with a goods yard",
            "a through station with a goods yard beside it",
            "station",
            {
                "lines": SINGLE,
                "roads": _roads(1, 2),
                "platforms": Range(0, 1, MAX_ROADS),
                "faces": FACES,
                "sidings": _roads(2, 3),
                "side": SOUTH,
                "trap": YES,
            },
            goods_station,
            each_way=("roads",),
        ),
        Shape(
            "siding",
            "a siding",
            "one siding, with or without trap points",
            "siding",
            {"lines": SINGLE, "side": SOUTH, "buffers": EAST, "trap": NO},
            siding,
        ),
        Shape(
            "ladder-yard",
            "a ladder yard",
            "a goods yard behind trap points, worked by hand signals",
            "yard",
            {
                "lines": SINGLE,
                "roads": _roads(2, 4),
                "side": SOUTH,
                "buffers": EAST,
                "trap": YES,
            },
            ladder_yard,
        ),
        Shape(
            "headshunt",
            "a yard with a headshunt",
            "a goods yard in which an engine shunts clear of the line",
            "yard",
            {"lines": SINGLE, "roads": _roads(2, 3), "side": SOUTH, "buffers": EAST},
            headshunt,
        ),
        Shape(
            "crossover",
            "a crossover",
            "one crossover on a double line, trailing or facing",
            "crossover",
            {"lines": Range(2, 2, 2), "facing": NO},
            crossover,
        ),
        Shape(
            "crossover-pair",
            "a crossover pair",
            "two crossovers on a double line, where trains pass and turn back",
            "crossover",
            {"lines": Range(2, 2, 2), "platforms": Range(0, 0, 2)},
            crossover_pair,
        ),
        Shape(
            "junction",
            "a junction",
            "another line leaves; a double one crosses on a diamond",
            "junction",
            {"lines": DOUBLE, "side": NORTH},
            junction,
        ),
        Shape(
            "triangle",
            "a triangle",
            "a branch that trains reach from the west and the east",
            "triangle",
            {"lines": Range(1, 1, 1), "side": NORTH},
            triangle,
        ),
        Shape(
            "balloon-loop",
            "a balloon loop",
            "the line comes back to itself, so that trains turn round",
            "loop",
            {"lines": Range(1, 1, 1), "roads": _roads(1, 1)},
            balloon_loop,
            ends=True,
        ),
        Shape(
            "plain-line",
            "plain line",
            "plain track beyond a joint",
            "plain",
            {"lines": SINGLE, "length": Range(100, 2000, 100_000)},
            plain_line,
        ),
        Shape(
            "corner",
            "a corner",
            "a curve of a quarter circle beyond a joint",
            "corner",
            {"lines": SINGLE, "radius": Range(100, 900, 20_000)},
            corner,
        ),
        Shape(
            "round-and-round",
            "a round-and-round",
            "a circuit with a station in front and hidden roads behind",
            "round",
            {
                "lines": SINGLE,
                "roads": _roads(1, 2),
                "platforms": Range(0, 1, MAX_ROADS),
                "faces": FACES,
                "hidden": _roads(1, 3),
            },
            round_and_round,
            closed=True,
            each_way=("roads", "hidden"),
        ),
    )
}
"""All shapes, by name."""
