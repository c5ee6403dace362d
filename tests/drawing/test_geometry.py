"""Drawings of every example and of random plans are right and readable."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from amount import amount
from drawing.drawn import diagram_of, report_of, root_of
from drawing.flat import flat_plan
from drawing.looking import SVG, groups, hands, look_over, parse, points_of
from oracle.plans import large_plan, random_plan
from trappoint.checking.check import check
from trappoint.drawing.diagram import draw
from trappoint.drawing.paper import sheet_of
from trappoint.drawing.sketch import Sketch, sketch
from trappoint.model.layout import Layout

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*.layout.json"))
SLIPS = sorted((ROOT / "examples" / "slips").glob("*.layout.json"))

LEGS = {2: ["left", "right"], 3: ["left", "middle", "right"]}


def layout_of(plan: object) -> Layout:
    layout = check(json.dumps(plan)).layout
    assert layout is not None
    return layout


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name.partition(".")[0])
def test_examples_are_drawn_flat_and_can_be_read(path: Path) -> None:
    diagram = diagram_of(path)
    look_over(diagram.sketch)
    assert diagram.crossings == 0
    root = root_of(diagram)
    for name, legs in hands(root).items():
        assert legs == [lie for lie in LEGS[len(legs)] if lie in legs], name


def unnamed(drawing: Sketch) -> set[str]:
    """Return the tracks without a drawn name."""
    named = {item.id for _, item in drawing.items() if item.kind == "track"}
    named |= {drawing.graph.pieces[name.piece].track for name in drawing.loose_names}
    return drawing.layout.tracks.keys() - named


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name.partition(".")[0])
@pytest.mark.parametrize("sheet", ["long", "a4"])
def test_every_track_has_its_name(path: Path, sheet: str) -> None:
    diagram = diagram_of(path, sheet_of(sheet).widest)
    assert unnamed(diagram.sketch) == set()
    look_over(diagram.sketch)
    texts = [text.text for text in root_of(diagram).iter(f"{SVG}text")]
    assert all(texts.count(track) >= 1 for track in diagram.sketch.layout.tracks)


@pytest.mark.parametrize("seed", range(amount(25, long=3000)))
def test_random_plans_can_be_read(seed: int) -> None:
    plan = random_plan(random.Random(seed))
    layout = layout_of(plan)
    diagram = draw(layout)
    look_over(diagram.sketch)
    root = parse(diagram.svg())
    drawn = hands(root)
    assert drawn.keys() == plan.get("points", {}).keys()
    for name, legs in drawn.items():
        assert legs == LEGS[len(legs)], name


@pytest.mark.parametrize("path", SLIPS, ids=lambda path: path.name.partition(".")[0])
def test_plans_with_slips_are_drawn_as_far_as_they_can_be(path: Path) -> None:
    report = report_of(path)
    if report.layout is not None:
        diagram = diagram_of(path, findings=True)
        look_over(diagram.sketch)
        assert len(groups(root_of(diagram), "track")) == len(report.layout.tracks)


@pytest.mark.parametrize("seed", range(amount(15, long=1000)))
def test_what_can_be_drawn_flat_is_drawn_flat(seed: int) -> None:
    """These plans come from drawings without crossings, so the drawing has none."""
    rng = random.Random(seed)
    drawing = sketch(layout_of(flat_plan(rng, rng.randint(2, 40))))
    assert drawing.crossings == 0
    assert not [node for node in drawing.graph.nodes if node.kind in ("cut", "bend", "bridge")]
    look_over(drawing)


def kelpie() -> dict[str, dict[str, dict[str, str]]]:
    kept = ROOT / "examples" / "kelpie-quay.layout.json"
    plan: dict[str, dict[str, dict[str, str]]] = json.loads(kept.read_text("utf-8"))
    return plan


def test_legs_exchanged_at_one_end_of_a_loop_cost_one_crossing() -> None:
    """By hand: the two roads of the loop then leave p1 and reach p2 in opposite orders."""
    plan = kelpie()
    plan["tracks"]["main"]["down"], plan["tracks"]["loop-east"]["down"] = "p2.right", "p2.left"
    drawing = sketch(layout_of(plan))
    assert drawing.crossings == 1
    look_over(drawing)
    assert len(groups(parse(draw(layout_of(plan)).svg()), "bridge")) == 1


def test_up_ends_stand_on_the_left() -> None:
    for path in EXAMPLES:
        assert not any(piece.turned for piece in diagram_of(path).sketch.graph.pieces)


def test_a_track_written_down_the_wrong_way_round_is_turned() -> None:
    plan = kelpie()
    main = plan["tracks"]["main"]
    main["up"], main["down"] = main["down"], main["up"]
    drawing = sketch(layout_of(plan))
    assert [piece.track for piece in drawing.graph.pieces if piece.turned] == ["main"]
    assert drawing.crossings == 0


def test_a_reversing_loop_is_drawn_as_a_bend() -> None:
    plan = {
        "format": "trappoint-layout/1",
        "tracks": {
            "line": {"up": "edge:away", "down": "p.toe"},
            "loop": {"up": "p.left", "down": "p.right", "length_mm": 4000},
        },
        "points": {"p": {"normal": "left"}},
    }
    drawing = sketch(layout_of(plan))
    assert [n.kind for n in drawing.graph.nodes].count("bend") == 1
    assert drawing.crossings == 0
    look_over(drawing)


def test_an_oval_is_cut_once_beside_a_joint() -> None:
    diagram = diagram_of(ROOT / "examples" / "pixie-ring.layout.json")
    cuts = [node.id for node in diagram.sketch.graph.nodes if node.kind == "cut"]
    assert cuts == ["A", "A"]
    titles = [title.text or "" for title in root_of(diagram).iter(f"{SVG}title")]
    assert sum("continues at the same letter" in title for title in titles) == 2


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name.partition(".")[0])
def test_arms_stand_on_the_drivers_side_in_his_order(path: Path) -> None:
    """In these plans every up end is on the left, so that down trains run to the right."""
    plan = json.loads(path.read_text("utf-8"))
    root = root_of(diagram_of(path))
    drawn = {group.get("data-signal"): group for group in groups(root, "signal")}
    for signal_id, signal in plan["signals"].items():
        group = drawn[signal_id]
        rightwards = signal["for"] == "down"
        posts = [p for p in group.findall(f"{SVG}path") if p.get("class") == "post"]
        (x, rail), (_, tip) = points_of(posts[0])
        side = signal.get("side", "left")
        assert (tip < rail) == (rightwards == (side == "left"))
        dolls = [points_of(p) for p in group.findall(f"{SVG}path") if p.get("class") == "doll"]
        for (start, _), (end, _) in dolls:
            assert start == x
            assert (end > start) == rightwards, "dolls point the way that the train runs"
        heights = [y for (_, y), _ in dolls]
        # From his left to his right: downwards where he runs to the right.
        assert heights == sorted(heights, reverse=not rightwards)
        arms = [arm.get("data-arm") for arm in group.findall(f"{SVG}g")]
        assert arms == [arm["id"] for arm in signal["arms"]]


def test_the_normal_road_is_drawn_through_the_points() -> None:
    root = parse(draw(layout_of(kelpie())).svg())
    for group in groups(root, "points"):
        legs = {p.get("data-leg") or "": points_of(p)[0] for p in group.findall(f"{SVG}path")}
        normal = group.get("data-normal") or ""
        assert legs["toe"] == legs[normal]
        assert all(legs[leg] != legs["toe"] for leg in legs.keys() - {"toe", normal})


@pytest.mark.parametrize("seed", range(amount(3, long=60)))
def test_a_folded_plan_can_be_read_and_loses_nothing(seed: int) -> None:
    layout = layout_of(large_plan(random.Random(seed), 12))
    flat = sketch(layout)
    folded = sketch(layout, widest=900)
    look_over(folded)
    width, height = size(flat)
    assert size(folded)[0] < width
    assert size(folded)[1] > height
    assert names_in(flat) == names_in(folded)
    cuts = [node.id for node in folded.graph.nodes if node.kind == "cut"]
    assert all(cuts.count(letter) == 2 for letter in cuts)


def names_in(drawing: Sketch) -> list[str]:
    """Return what the boxes are of; a name that found no room beside its track stands apart."""
    whats = [box.what.replace("name of", "track") for box in drawing.boxes()]
    return sorted(what for what in whats if not what.startswith("cut"))


def things(drawing: Sketch) -> list[str]:
    """Return the names of everything drawn, without the letters of cuts and names of tracks."""
    found = [box.what for box in drawing.boxes()]
    return sorted(what for what in found if not what.startswith(("cut", "name of", "track")))


def size(drawing: Sketch) -> tuple[float, float]:
    bounds = drawing.bounds()
    return bounds.right - bounds.left, bounds.bottom - bounds.top


def test_a_short_plan_is_not_folded() -> None:
    layout = layout_of(kelpie())
    assert size(sketch(layout, widest=1420)) == size(sketch(layout))


def test_a_folded_plan_is_spread_over_sheets_and_stays_whole() -> None:
    layout = layout_of(large_plan(random.Random(3), 30))
    sheets = [parse(svg) for svg in draw(layout, widest=900).sheets(highest=520)]
    assert len(sheets) > 1
    assert len({sheet.get("width") for sheet in sheets}) == 1, "all to one scale"
    ids = [e.get("id") for sheet in sheets for e in sheet.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    for kind, things in (("signal", layout.signals), ("points", layout.points)):
        drawn = [group for sheet in sheets for group in groups(sheet, kind)]
        assert len(drawn) == len(things)
    tracks = {g.get("data-track") for sheet in sheets for g in groups(sheet, "track")}
    assert tracks == set(layout.tracks)
