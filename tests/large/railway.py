"""A railway of any size: ``python -m large.railway --points 40`` prints one.

A double main line runs from west to east through stations, and branches leave it at junctions,
double or single, each a few stations long. However large it is, no part of it is larger than a
great station: so are the railways that clubs build board by board, and so were those that they
build after. The same seed draws the same railway, to the letter.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).parents[1]))

from large.ground import Ground
from large.stations import (
    great_station,
    great_terminus,
    halt,
    junction,
    passing_loop,
    terminus,
    wayside,
)

if TYPE_CHECKING:
    from random import Random

    from large.ground import Line, Plan

LEAST = 2
"""The fewest points of a railway."""


class Growing(NamedTuple):
    """An unfinished line, and the number of stations that it still needs; None for no limit."""

    line: Line
    stations: int | None


def railway(points: int, seed: int = 0) -> Plan:
    """Return a railway with exactly this number of points (at least two), which holds."""
    if points < LEAST:
        raise ValueError(f"a railway has at least {LEAST} points")
    ground = Ground(seed)
    lines = [Growing(ground.box().open_line("edge:west-out", "edge:west-in"), None)]
    while len(ground.points) < points:
        room = points - len(ground.points)
        line, stations = lines.pop()
        if stations == 0:
            _end(ground, line, room)
            continue
        onward, *branches = _go_on(ground, line, room)
        lines.append(Growing(onward, None if stations is None else stations - 1))
        # A branch is laid at once, and the line that it leaves goes on when it has ended.
        lines += [Growing(branch, ground.random.randint(3, 9)) for branch in branches]
    for line, _ in lines:
        _leave(ground, line)
    return ground.plan()


def _go_on(ground: Ground, line: Line, room: int) -> tuple[Line, ...]:
    """Lay one more station on a line; return how it goes on, and the branch if there is one.

    Never does it leave room for one point, with which nothing can be laid.
    """
    draw, box = ground.random, ground.box()
    if line.single:
        if draw.random() < 0.8 and room != 3:
            return (passing_loop(box, line),)
        return (halt(box, line, _yard(draw, room - 2)),)
    kind = draw.choices(("wayside", "junction", "station"), (3, 3, 4))[0]
    roads = draw.randint(3, 7)
    if kind == "station" and room >= 2 * roads + 6:
        return (great_station(box, line, roads),)
    if kind == "junction" or room < 4:
        single = room == 3 or (room not in (2, 4) and draw.random() < 0.6)
        return junction(box, line, single=single)
    return (wayside(box, line, _yard(draw, room - 4)),)


def _yard(draw: Random, room: int) -> int:
    """Draw how many points a yard has."""
    count = min(draw.choice((0, 2, 3, 4, 5)), room)
    return count + 1 if room - count == 1 else count


def _end(ground: Ground, line: Line, room: int) -> None:
    """Lay the last station of a branch, where there is room for one."""
    roads = ground.random.randint(2, 6)
    if line.single and room != 3:
        terminus(ground.box(), line)
    elif not line.single and room >= roads + 4:
        great_terminus(ground.box(), line, roads)
    else:
        _leave(ground, line)


def _leave(ground: Ground, line: Line) -> None:
    """Let a line leave the plan."""
    box = ground.box()
    box.meets(line.down, f"edge:{box.id('out')}")
    if not line.single:
        box.meets(line.up, f"edge:{box.id('in')}")


def written(plan: Plan) -> str:
    """Write a plan, each thing on a line of its own."""
    return json.dumps(plan, indent=1)


def main() -> None:
    """Print a railway."""
    parser = argparse.ArgumentParser(description="Draws a large railway that holds.")
    parser.add_argument("--points", type=int, default=40)
    parser.add_argument("--seed", type=int, default=0)
    options = parser.parse_args()
    print(written(railway(options.points, options.seed)))


if __name__ == "__main__":
    main()
