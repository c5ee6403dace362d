"""Hints change the drawing of a plan if it can follow them, and nothing else."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import pytest

from amount import amount
from drawing.flat import flat_plan
from drawing.looking import hands, look_over, parse
from oracle.plans import random_plan
from trappoint.checking.check import check
from trappoint.cli import main
from trappoint.drawing.diagram import draw
from trappoint.drawing.sketch import Sketch, sketch
from trappoint.model.layout import Layout

ROOT = Path(__file__).parents[2]
Plan = dict[str, Any]


def layout_of(plan: Plan) -> Layout:
    layout = check(json.dumps(plan)).layout
    assert layout is not None
    return layout


def kelpie(lanes: dict[str, int], orders: dict[str, int] | None = None) -> Plan:
    plan: Plan = json.loads((ROOT / "examples" / "kelpie-quay.layout.json").read_text("utf-8"))
    for track, lane in lanes.items():
        plan["tracks"][track]["draw"] = {"lane": lane}
    for points, order in (orders or {}).items():
        plan["points"][points]["draw"] = {"order": order}
    return plan


def lanes_of(drawing: Sketch) -> dict[str, float]:
    return {p.track: drawing.lanes.of_piece[p.index] for p in drawing.graph.pieces}


def columns_of(drawing: Sketch) -> dict[str, float]:
    return {n.id: drawing.places.x[n.index] for n in drawing.graph.nodes if n.id}


def test_a_level_of_its_own_for_each_line() -> None:
    """Left alone, the normal road is drawn level; here the loop is level and the main bends."""
    alone = lanes_of(sketch(layout_of(kelpie({}))))
    assert alone["town-line"] == alone["main"] == alone["quarry-line"]
    level = {"town-line": 1, "loop-west": 1, "loop-east": 1, "quarry-line": 1, "main": 3}
    drawing = sketch(layout_of(kelpie(level)))
    lanes = lanes_of(drawing)
    assert lanes["town-line"] == lanes["loop-west"] == lanes["loop-east"] == lanes["quarry-line"]
    assert lanes["main"] == lanes["town-line"] + 2
    assert drawing.unfollowed == []
    look_over(drawing)


def test_a_hint_that_would_cover_a_track_is_ignored_and_reported() -> None:
    drawing = sketch(layout_of(kelpie({"main": 1, "loop-west": 1})))
    look_over(drawing)
    lanes = lanes_of(drawing)
    assert lanes["loop-west"] < lanes["main"]
    (finding,) = drawing.unfollowed
    assert finding.pointer in ("/tracks/main/draw/lane", "/tracks/loop-west/draw/lane")
    assert "would cover another track" in finding.message


def test_points_stand_in_their_order_where_they_can() -> None:
    order = {"p1": 1, "p3": 2, "p2": 3}
    assert sketch(layout_of(kelpie({}, order))).unfollowed == []
    drawing = sketch(layout_of(kelpie({}, {"p1": 2, "p2": 1})))
    look_over(drawing)
    (finding,) = drawing.unfollowed
    assert finding.pointer == "/points/p1/draw/order"
    assert finding.message == "p1 cannot be drawn to the right of p2."


def test_two_stations_that_nothing_joins_stand_as_they_are_asked_to() -> None:
    plan: Plan = {
        "format": "trappoint-layout/1",
        "tracks": {
            name: {"up": "edge:a" + name, "down": "buffer", "draw": {"lane": lane}}
            for name, lane in (("first", 3), ("second", 2), ("third", 1))
        },
    }
    lanes = lanes_of(sketch(layout_of(plan)))
    assert lanes["third"] < lanes["second"] < lanes["first"]


def test_of_two_branches_the_order_says_which_is_further_on() -> None:
    plan: Plan = {
        "format": "trappoint-layout/1",
        "tracks": {
            "line": {"up": "edge:w", "down": "f.toe"},
            "upper": {"up": "f.left", "down": "a.toe"},
            "lower": {"up": "f.right", "down": "b.toe"},
            **{
                f"{points}-{leg}": {"up": f"{points}.{leg}", "down": "buffer"}
                for points in "ab"
                for leg in ("left", "right")
            },
        },
        "points": {
            "f": {"normal": "left"},
            "a": {"normal": "left"},
            "b": {"normal": "right"},
        },
    }
    for order in ({"a": 1, "b": 2}, {"a": 2, "b": 1}):
        for name, number in order.items():
            plan["points"][name]["draw"] = {"order": number}
        drawing = sketch(layout_of(plan))
        x = columns_of(drawing)
        assert (x["a"] < x["b"]) == (order["a"] < order["b"])
        assert drawing.unfollowed == []


def hint_at_random(rng: random.Random, plan: Plan) -> None:
    for track in plan["tracks"].values():
        if rng.random() < 0.5:
            track["draw"] = {"lane": rng.randint(1, 6)}
    for kind in ("points", "crossings", "turntables"):
        for element in plan.get(kind, {}).values():
            if rng.random() < 0.5:
                element["draw"] = {"order": rng.randint(1, 9)}


@pytest.mark.parametrize("seed", range(amount(12, long=1500)))
def test_hints_at_random_bring_nothing_over_anything(seed: int) -> None:
    rng = random.Random(seed)
    plan = random_plan(rng)
    before = sketch(layout_of(plan)).crossings
    hint_at_random(rng, plan)
    diagram = draw(layout_of(plan))
    look_over(diagram.sketch)
    assert diagram.crossings <= before
    for legs in hands(parse(diagram.svg())).values():
        assert legs == [leg for leg in ("left", "middle", "right") if leg in legs]


@pytest.mark.parametrize("seed", range(amount(8, long=40)))
def test_a_drawing_given_back_as_hints_is_followed(seed: int) -> None:
    """A drawing exists already, so the drawing can follow hints that describe it."""
    rng = random.Random(seed)
    plan = flat_plan(rng, rng.randint(2, 25))
    first = sketch(layout_of(plan))
    lanes, x = lanes_of(first), columns_of(first)
    least = min(lanes.values())
    slanting = {p.track for p in first.graph.pieces if first.lanes.slanting[p.index]}
    for track, lane in lanes.items():
        if track not in slanting:
            plan["tracks"][track]["draw"] = {"lane": round(lane - least) + 1}
    drawing = sketch(layout_of(plan))
    look_over(drawing)
    assert drawing.unfollowed == []
    assert {t: lane - lanes[t] for t, lane in lanes_of(drawing).items() if t not in slanting}
    elements = sorted((plan["points"] | plan["crossings"]).keys(), key=lambda name: x[name])
    for number, name in enumerate(elements, 1):
        kind = "points" if name in plan["points"] else "crossings"
        plan[kind][name]["draw"] = {"order": number}
    look_over(sketch(layout_of(plan)))


def test_the_commands_say_what_was_not_followed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = tmp_path / "kelpie.layout.json"
    source.write_text(json.dumps(kelpie({}, {"p1": 2, "p2": 1})), "utf-8")
    for command in ("draw", "chart"):
        assert main([command, str(source), "-o", str(tmp_path / "out.html")]) == 0
        assert "p1 cannot be drawn to the right of p2." in capsys.readouterr().err
    assert main(["draw", str(source), "--findings"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "p1 cannot be drawn to the right of p2." in out
    assert "p1 <tspan" in out
