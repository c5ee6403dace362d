"""A plan that is too wide for its paper: where it is cut, and what each row has."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from amount import amount
from drawing.drawn import diagram_of
from drawing.looking import look_over
from oracle.plans import large_plan
from trappoint.checking.check import check
from trappoint.drawing.paper import sheet_of
from trappoint.drawing.placement_problem import PlacementProblem, solve
from trappoint.drawing.sketch import Sketch, sketch
from trappoint.model.layout import Layout

CLUB = Path(__file__).parents[2] / "examples" / "hobthrush-vale.layout.json"


def layout_of(plan: object) -> Layout:
    layout = check(json.dumps(plan)).layout
    assert layout is not None
    return layout


def cuts(drawing: Sketch) -> list[str]:
    """The letter of each cut; each letter stands at two ends."""
    letters = [node.id for node in drawing.graph.nodes if node.kind == "cut"]
    assert all(letters.count(letter) == 2 for letter in letters)
    return sorted(set(letters))


def rows_at_platforms(drawing: Sketch) -> dict[str, set[int]]:
    """For each platform, the rows of the tracks that it serves."""
    found: dict[str, set[int]] = {}
    for platform in drawing.layout.platforms.values():
        found[platform.id] = {
            row
            for row, (pieces, _) in enumerate(drawing.rows)
            for piece in pieces
            if drawing.graph.pieces[piece].track in platform.tracks
        }
    return found


def test_the_club_layout_stands_on_one_sheet_with_few_cuts() -> None:
    diagram = diagram_of(CLUB, sheet_of("a3").widest)
    drawing = diagram.sketch
    assert len(cuts(drawing)) <= 5
    assert len(diagram.sheets(highest=sheet_of("a3").highest)) == 1
    assert all(drawing.width_of(*row) <= (sheet_of("a3").widest or 0) for row in drawing.rows)
    assert drawing.crossings == 0


@pytest.mark.parametrize("sheet", ["a4", "a3"])
def test_stations_stay_whole(sheet: str) -> None:
    drawing = diagram_of(CLUB, sheet_of(sheet).widest).sketch
    served = {track for platform in drawing.layout.platforms.values() for track in platform.tracks}
    ends = [node for node in drawing.graph.nodes if node.kind == "cut"]
    cut = {drawing.graph.pieces[piece].track for node in ends for piece in (*node.ins, *node.outs)}
    assert not cut & served
    rows = rows_at_platforms(drawing)
    stations = {
        "Wisp Road": [name for name in rows if name.startswith("wisp")],
        "Hobthrush": [name for name in rows if name.startswith("hob")],
    }
    for station, platforms in stations.items():
        assert len(platforms) > 1, station
        assert len(set.union(*(rows[name] for name in platforms))) == 1, station


@pytest.mark.parametrize("seed", range(amount(2, long=40)))
def test_rows_are_as_narrow_as_their_paper(seed: int) -> None:
    """Rows of a long line; each is at least half as wide as the paper, but for the last ones."""
    drawing = sketch(layout_of(large_plan(random.Random(seed), 20)), widest=1490)
    look_over(drawing)
    widths = [drawing.width_of(*row) for row in drawing.rows]
    assert len(widths) > 1
    assert max(widths) <= 1490
    assert len(widths) <= 2.5 * sum(widths) / 1490 + 1


def test_numbers_keep_a_greatest_distance_if_they_can() -> None:
    problem = PlacementProblem()
    left, middle, right = (problem.number() for _ in range(3))
    problem.at_least(left, middle, 30)
    problem.at_least(middle, right, 30)
    problem.price(-1.0, left, right)
    problem.at_most(left, right, 80)
    assert solve(problem)[right] <= 80
    problem.at_most(left, right, 50)
    assert solve(problem)[right] >= 60, "less than the least distances allow"
