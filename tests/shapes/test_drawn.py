"""Test the drawings: no lines cross, roads are in order, platforms lie between their roads.

``tests/drawing`` tests how points are drawn, left and right as seen from the toe. If no lines cross
and the roads are in order from north to south, the legs of the points are in order too.
"""

from __future__ import annotations

import json
import random
from itertools import pairwise

import pytest

from drawing.looking import hands, parse
from shapes.asking import TAKES, Plan, ask, ask_for_several, laid
from trappoint import check
from trappoint.drawing.diagram import draw
from trappoint.drawing.sketch import Sketch


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
    for seed in range(20):
        plan = laid(ask(random.Random(seed), name))
        sketch = drawn(plan)
        assert not any(piece.turned for piece in sketch.graph.pieces), "west is on the left"
        at = heights(sketch)
        for stem in ("road", "hidden", "siding"):
            roads = [at[t] for t in plan["tracks"] if t.rpartition("-")[0] == stem]
            assert roads == sorted(set(roads)), "from north to south"
        islands += hold_platforms_between(plan, sketch, at)
    assert islands or name in ("junction", "crossover-pair", "ladder-yard")


def test_lines_that_are_joined_are_drawn_as_they_lie() -> None:
    for seed in range(20):
        plan = laid(*ask_for_several(random.Random(seed), most=3))
        sketch = drawn(plan)
        assert not any(piece.turned for piece in sketch.graph.pieces)
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


def test_the_branch_is_to_the_north_and_the_yard_to_the_south() -> None:
    at = heights(drawn(laid("junction:lines=1")))
    assert at["branch-1"] < at["line-2"]
    at = heights(drawn(laid("ladder-yard")))
    assert at["reception"] > at["line-2"]
