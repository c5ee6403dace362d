"""A drawing with the memory of the one before: little moves, and no memory is an error."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from pathlib import Path
from statistics import mean
from typing import Any

import pytest

from drawing.changes import Plan, add_platform, add_siding, add_signal, changed, kept
from drawing.looking import SVG, look_over, parse
from large.railway import railway
from trappoint.checking.check import check
from trappoint.drawing import vertical_order
from trappoint.drawing.diagram import draw
from trappoint.model.layout import Layout

CROSSED = (7, 9, 10)
"""The seeds of railways whose drawings cross tracks more than once."""

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.layout.json"))
SMALL = [path for path in EXAMPLES if path.stat().st_size < 20_000]

HOSTILE: tuple[object, ...] = (
    None, 7, "x", [], {}, {"lanes": 3}, {"lanes": {"main/0": float("nan")}, "places": []},
    {"lanes": {"main/0": 10**400, "yard/0": True}, "cuts": [[], {}], "rows": {"x": None}},
    {"lanes": {"main/0": -1e308, "shed/0": "2"}, "places": {"points/1": float("inf")}},
    {"before": {"before": {"before": []}}},
    {"lanes": {"refuge/0": 1}, "bridges": 3},
    {"lanes": {"refuge/0": 1}, "bridges": [7, [], [[], {}, 1], ["refuge", 3, 1]]},
    {"lanes": {"refuge/0": 1}, "bridges": [["down-mid", "refuge"], ["down-mid", "refuge", "1"]]},
    {"lanes": {"refuge/0": 1}, "bridges": [["refuge", "down-mid", float("nan")]]},
    {"lanes": {"refuge/0": 1}, "bridges": [["down-mid", "refuge", 9], ["refuge", "down-mid", 9]]},
)  # fmt: skip


def layout_of(plan: Plan) -> Layout:
    layout = check(json.dumps(plan)).layout
    assert layout is not None
    return layout


@pytest.mark.parametrize("change", [add_siding, add_signal, add_platform])
def test_a_small_change_moves_little(change: Callable[[random.Random, Plan], None]) -> None:
    found: list[tuple[float, float]] = []
    for path in SMALL:
        plan = json.loads(path.read_text("utf-8"))
        before = draw(layout_of(plan))
        memory = json.loads(json.dumps(before.memory))
        for seed in range(3):
            after = draw(layout_of(changed(random.Random(seed), plan, change)), before=memory)
            look_over(after.sketch)
            found.append(kept(before.sketch, after.sketch))
    assert mean(pair[0] for pair in found) > 0.95
    assert mean(pair[1] for pair in found) > 0.95


@pytest.mark.parametrize("widest", [None, 900.0])
@pytest.mark.parametrize("path", SMALL, ids=lambda path: path.name)
def test_a_plan_with_its_own_memory_is_drawn_the_same(path: Path, widest: float | None) -> None:
    plan = json.loads(path.read_text("utf-8"))
    layout = layout_of(plan)
    first = draw(layout, widest=widest)
    again = draw(layout, widest=widest, before=first.memory)
    assert again.svg() == first.svg()
    assert again.memory == first.memory
    # That holds for a plan in a row of changes too.
    other = layout_of(changed(random.Random(1), plan, add_siding))
    second = draw(other, widest=widest, before=first.memory)
    assert draw(other, widest=widest, before=second.memory).svg() == second.svg()


def test_crossed_tracks_are_recalled_and_cross_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    layouts = [layout_of(railway(16, seed)) for seed in CROSSED]
    first = [draw(layout) for layout in layouts]
    monkeypatch.setattr(vertical_order, "_search", None)
    for layout, before in zip(layouts, first, strict=True):
        memory = json.loads(json.dumps({**before.memory, "digest": ""}))
        again = draw(layout, before=memory)
        look_over(again.sketch)
        assert again.crossings == before.crossings > 0
        assert min(kept(before.sketch, again.sketch)) > 0.95


@pytest.mark.parametrize("number", range(len(HOSTILE)))
def test_no_memory_is_an_error(number: int) -> None:
    layout = layout_of(json.loads(SMALL[0].read_text("utf-8")))
    look_over(draw(layout, before=HOSTILE[number]).sketch)


def test_the_memory_of_another_plan_is_no_error() -> None:
    layouts = [layout_of(json.loads(path.read_text("utf-8"))) for path in SMALL]
    memories = [draw(layout).memory for layout in layouts]
    for layout in layouts:
        for memory in memories:
            look_over(draw(layout, before=memory).sketch)


def test_a_memory_mixed_up_is_no_error() -> None:
    rng = random.Random(5)
    for path in SMALL:
        layout = layout_of(json.loads(path.read_text("utf-8")))
        memory: dict[str, Any] = draw(layout).memory
        for key in ("lanes", "places"):
            values = list(memory[key].values())
            rng.shuffle(values)
            memory[key] = dict(zip(memory[key], values, strict=True))
        look_over(draw(layout, before={**memory, "digest": ""}).sketch)


def test_a_memory_is_small() -> None:
    for path in EXAMPLES:
        layout = layout_of(json.loads(path.read_text("utf-8")))
        assert len(json.dumps(draw(layout).memory)) < path.stat().st_size


@pytest.mark.parametrize("path", SMALL, ids=lambda path: path.name)
def test_each_track_end_can_be_pressed(path: Path) -> None:
    layout = layout_of(json.loads(path.read_text("utf-8")))
    spots = [
        (spot.get("data-track"), spot.get("data-end"))
        for spot in parse(draw(layout).svg()).iter(f"{SVG}circle")
        if spot.get("data-end")
    ]
    assert sorted(spots) == sorted((t, end) for t in layout.tracks for end in ("up", "down"))
