"""Test the drawings: no lines cross, roads are in order, platforms lie between their roads.

``tests/drawing`` tests how points are drawn, left and right as seen from the toe. If no lines cross
and the roads are in order from north to south, the legs of the points are in order too.
"""

from __future__ import annotations

import json
import random
import re
from itertools import pairwise

import pytest

from amount import amount
from drawing.looking import hands, parse
from shapes.asking import TAKES, Plan, ask, ask_for_several, laid
from trappoint import check
from trappoint.drawing.diagram import draw
from trappoint.drawing.sketch import Sketch

STATIONS = ("through-station", "passing-loop", "terminus", "bay-station")
TURNING = ("triangle", "balloon-loop")
SETTINGS = amount(4, long=20)
MAX_ROADS = amount(5, long=12)


def drawn(plan: Plan) -> Sketch:
    layout = check(json.dumps(plan)).layout
    assert layout is not None
    diagram = draw(layout)
    assert diagram.crossings == 0
    legs = hands(parse(diagram.svg()))
    assert legs == {key: ["left", "right"] for key in plan.get("points", {})}
    return diagram.sketch


def heights(sketch: Sketch) -> dict[str, float]:
    """Return the height of each track's longest level line, measured downwards in the drawing."""
    found: dict[str, tuple[float, float]] = {}
    for piece, line in zip(sketch.graph.pieces, sketch.lines, strict=True):
        for (x1, y1), (x2, y2) in pairwise(line):
            if y1 == y2:
                found[piece.track] = max(found.get(piece.track, (0, 0)), (x2 - x1, y1))
    return {track: y for track, (_, y) in found.items()}


def hold_platforms_between(plan: Plan, sketch: Sketch, at: dict[str, float]) -> int:
    """Assert that each island platform lies between its roads; return the number of islands.

    A drawing may put both roads on one level; such an island is not counted.
    """
    islands = 0
    for number, item in sketch.items():
        if item.kind != "platform":
            continue
        box = sketch.item_box(number, item)
        served = plan["platforms"][item.id]["tracks"]
        middle = (box.top + box.bottom) / 2
        if len(served) == 2 and at[served[0]] != at[served[1]]:
            islands += 1
            low, high = sorted(at[track] for track in served)
            assert low < middle < high, item.id
    return islands


@pytest.mark.parametrize("name", TAKES)
def test_shapes_are_drawn_as_they_lie(name: str) -> None:
    islands = 0
    for seed in range(SETTINGS):
        plan = laid(ask(random.Random(seed), name, MAX_ROADS))
        sketch = drawn(plan)
        turned = [piece.track for piece in sketch.graph.pieces if piece.turned]
        assert name in TURNING or not turned, "west is on the left"
        at = heights(sketch)
        for stem in ("road", "hidden", "siding", "bay"):
            if name == "balloon-loop":
                break  # Its roads lie one inside the other.
            roads = [at[t] for t in plan["tracks"] if re.fullmatch(rf"{stem}-[0-9]+", t)]
            assert roads == sorted(set(roads)), "from north to south"
        islands += hold_platforms_between(plan, sketch, at)
    assert islands or name not in STATIONS


def test_lines_that_are_joined_are_drawn_as_they_lie() -> None:
    for seed in range(SETTINGS):
        plan = laid(*ask_for_several(random.Random(seed), most=3))
        sketch = drawn(plan)
        hold_platforms_between(plan, sketch, heights(sketch))


def test_down_keeps_left() -> None:
    """In British practice trains keep left: if down trains run east, the down line is north."""
    for name in ("through-station", "junction", "crossover-pair"):
        at = heights(drawn(laid(f"{name}:lines=2")))
        assert at["down-line-1"] < at["up-line-1"]
        assert at["down-line-2"] < at["up-line-2"]


def test_outer_platforms_lie_outside() -> None:
    plan = laid("through-station:roads=4,platforms=3")
    sketch = drawn(plan)
    at = heights(sketch)
    middles = {}
    for number, item in sketch.items():
        box = sketch.item_box(number, item)
        if item.kind == "platform":
            middles.setdefault(item.id, (box.top + box.bottom) / 2)
    assert middles["A"] < at["road-1"] < at["road-4"] < middles["C"]


@pytest.mark.parametrize(
    ("name", "beside"),
    [
        ("junction:lines=1", "branch-1"),
        ("triangle", "branch-1"),
        ("siding", "siding"),
        ("siding:trap=yes", "siding"),
        ("siding:buffers=west,trap=yes", "siding"),
        ("ladder-yard", "reception"),
        ("headshunt", "headshunt"),
        ("bay-station:lines=1,platforms=0", "bay-1"),
        ("bay-station:lines=1,platforms=0,buffers=west", "bay-1"),
        ("goods-station", "reception"),
    ],
)
def test_what_leaves_the_line_lies_on_the_side_that_was_asked_for(name: str, beside: str) -> None:
    colon = "," if ":" in name else ":"
    north = heights(drawn(laid(f"{name}{colon}side=north")))
    assert north[beside] < north["line-2"]
    south = heights(drawn(laid(f"{name}{colon}side=south")))
    assert south[beside] > south["line-2"]


def test_buffers_lie_where_they_were_asked_for() -> None:
    for name, track in (("siding", "siding"), ("bay-station:lines=1", "bay-1")):
        colon = "," if ":" in name else ":"
        for way, end in (("east", "down"), ("west", "up")):
            plan = laid(f"{name}{colon}buffers={way}")
            assert plan["tracks"][track][end] == "buffer"
            assert not any(piece.turned for piece in drawn(plan).graph.pieces)
