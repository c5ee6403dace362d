"""The scenes on the wall chart: small diagrams, read back from the SVG."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from importlib.util import find_spec
from io import BytesIO
from math import hypot
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from amount import amount
from drawing.drawn import diagram_of, report_of
from drawing.looking import SVG, groups, parse, points_of
from drawing.test_moments import PLANS, plain, random_scene
from trappoint.drawing.chart import write_chart
from trappoint.drawing.diagram import draw
from trappoint.drawing.moment import moment_of_scene
from trappoint.drawing.paper import sheet_of
from trappoint.drawing.scene_parts import parts_of
from trappoint.drawing.scene_pictures import UNIT, scene_pictures

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from trappoint.drawing.sketch import Sketch
    from trappoint.model.layout import Layout, Scene

WITH_SCENES = [path for path in PLANS if '"scenes": {' in path.read_text("utf-8")]
NAMES = [path.name.partition(".")[0] for path in WITH_SCENES]
ROOMS = {"a4": 277.0, "a3": 400.0}


def sketch_of(path: Path, sheet: str) -> Sketch:
    return diagram_of(path, sheet_of(sheet).widest).sketch


def with_scene(sketch: Sketch, scene: Scene) -> Sketch:
    return replace(sketch, layout=sketch.layout._replace(scenes={scene.id: scene}))


def assert_shows(svgs: list[Element], layout: Layout, scene: Scene) -> None:
    """Every train, every arm that is off and all points that the scene names are in a picture."""
    trains = [train for svg in svgs for train in groups(svg, "train")]
    assert len(trains) == len(scene.trains)
    off = {arm.get("data-arm") for svg in svgs for arm in groups(svg, "arm") if groups(arm, "off")}
    assert off == set(scene.off)
    drawn = {
        each.get("data-id"): each.get("data-lie")
        for svg in svgs
        for kind in ("points", "crossing")
        for each in groups(svg, kind)
    }
    for name in scene.points:
        assert name in drawn
    for name, lie in drawn.items():
        switch = layout.switch(name or "")
        word = scene.points.get(name or "", "normal")
        if switch is not None:
            words = {"normal": switch.normal, "reverse": switch.reverse}
            assert lie == words.get(word, word)


def assert_within(svg: Element) -> None:
    """All lines and letters begin inside the picture."""
    left, top, width, height = map(float, (svg.get("viewBox") or "").split())
    for path in svg.iter(f"{SVG}path"):
        for x, y in points_of(path):
            assert left <= x <= left + width
            assert top <= y <= top + height
    for text in svg.iter(f"{SVG}text"):
        assert left <= float(text.get("x") or 0) <= left + width
        assert top + 6 <= float(text.get("y") or 0) <= top + height


@pytest.mark.parametrize("sheet", ROOMS)
@pytest.mark.parametrize("path", WITH_SCENES, ids=NAMES)
def test_every_scene_has_its_picture(path: Path, sheet: str) -> None:
    report = report_of(path)
    layout = report.layout
    assert layout is not None
    sketch = sketch_of(path, sheet)
    pictures = scene_pictures(sketch, report.table, ROOMS[sheet])
    for scene in layout.scenes.values():
        own = [each for each in pictures if f"({scene.id})" in each.title]
        svgs = [parse(each.svg) for each in own]
        assert own
        assert_shows(svgs, layout, scene)
        for each, svg in zip(own, svgs, strict=True):
            assert_within(svg)
            assert (each.width, each.height) == (
                float(svg.get("width") or 0), float(svg.get("height") or 0)
            )  # fmt: skip
            assert not groups(svg, "caution"), "the chart has one for all"
        words = own[-1].words
        for name in scene.points:
            assert re.search(rf"\b{name} (reverse|left|right|middle|slip)", words)
        for train in scene.trains.values():
            assert str(train) in words or any(
                text.text == (layout.trains[str(train)].name or train)
                for svg in svgs
                for text in svg.iter(f"{SVG}text")
            )


def test_a_large_plan_is_not_shown_whole() -> None:
    path = next(path for path in WITH_SCENES if "hobthrush" in path.name)
    report = report_of(path)
    pictures = scene_pictures(sketch_of(path, "a4"), report.table, ROOMS["a4"])
    assert report.layout is not None
    for each in pictures:
        assert len(groups(parse(each.svg), "track")) < len(report.layout.tracks) / 4
        assert each.width * UNIT < ROOMS["a4"]


def test_a_small_plan_is_shown_whole_if_two_fit_side_by_side() -> None:
    path = next(path for path in WITH_SCENES if "boggart" in path.name)
    report = report_of(path)
    layout = report.layout
    assert layout is not None
    (wide,) = scene_pictures(sketch_of(path, "a3"), report.table, ROOMS["a3"])
    (narrow,) = scene_pictures(sketch_of(path, "a4"), report.table, ROOMS["a4"])
    assert len(groups(parse(wide.svg), "track")) == len(layout.tracks)
    assert wide.width * UNIT * 2 < ROOMS["a3"]
    assert len(groups(parse(narrow.svg), "track")) < len(layout.tracks)


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.name.partition(".")[0])
def test_a_part_has_all_that_a_scene_concerns_and_what_lies_between(path: Path) -> None:
    rng, report = random.Random(path.name), report_of(path)
    assert report.layout is not None
    on_paper = sketch_of(path, "a4")
    rows = on_paper if on_paper.rows else draw(report.layout, widest=500.0).sketch
    for drawn in (plain(report).sketch, rows):
        for _ in range(amount(3, long=40)):
            scene = random_scene(rng, report.layout)
            sketch = with_scene(drawn, scene)
            moment = moment_of_scene(sketch.layout, scene)
            for pieces, nodes in parts_of(sketch, moment, report.table):
                assert_joined(sketch, pieces, nodes)
            pictures = scene_pictures(sketch, report.table, 1.0)
            svgs = [parse(each.svg) for each in pictures if each.svg]
            assert_shows(svgs, sketch.layout, scene)
            for svg in svgs:
                assert_within(svg)


def assert_joined(sketch: Sketch, pieces: list[int], nodes: list[int]) -> None:
    """Nodes that are connected in the row of a part are connected in the part."""
    rows = sketch.rows or [(list(range(len(sketch.graph.pieces))), [])]
    (row,) = (row for row, _ in rows if set(pieces) <= set(row) and set(row) & ends(sketch, nodes))
    assert {end for piece in pieces for end in both(sketch, piece)} <= set(nodes)
    for kin in kins(sketch, row):
        shared = kin & set(nodes)
        assert len([each for each in kins(sketch, pieces, nodes) if each & shared]) <= 1


def both(sketch: Sketch, piece: int) -> tuple[int, int]:
    own = sketch.graph.pieces[piece]
    return own.left, own.right


def ends(sketch: Sketch, nodes: list[int]) -> set[int]:
    found = (sketch.graph.nodes[node] for node in nodes)
    return {piece for node in found for piece in (*node.ins, *node.outs)}


def kins(sketch: Sketch, pieces: list[int], nodes: list[int] | None = None) -> list[set[int]]:
    """Return the nodes that are connected over these pieces, group by group."""
    found: list[set[int]] = [{node} for node in nodes or ()]
    for piece in pieces:
        ends_ = set(both(sketch, piece))
        joined = ends_.union(*(each for each in found if each & ends_))
        found = [each for each in found if not each & ends_] + [joined]
    return found


def test_a_scene_without_anything_has_its_words() -> None:
    path = WITH_SCENES[0]
    report = report_of(path)
    assert report.layout is not None
    empty = next(iter(report.layout.scenes.values()))._replace(points={}, off=(), trains={})
    (picture,) = scene_pictures(with_scene(sketch_of(path, "a4"), empty), report.table, 100.0)
    assert (picture.svg, picture.words) == ("", "All points lie normal.")


@pytest.mark.parametrize("path", WITH_SCENES, ids=NAMES)
def test_the_chart_has_pictures_and_no_rows_of_scenes(path: Path) -> None:
    report = report_of(path)
    text = write_chart(report)
    part = text[text.index('<section class="scenes">') :]
    part = part[: part.index("</section>")]
    assert report.layout is not None
    assert part.count("<svg") >= len(report.layout.scenes)
    assert "<dl>" not in part
    assert "<table" not in part


@pytest.mark.skipif(
    find_spec("pypdf") is None or find_spec("svglib") is None, reason="pypdf or svglib is missing"
)
def test_letters_are_as_high_on_paper_as_on_the_diagram() -> None:
    """Read back by an independent PDF library: 10 units of 0.18 mm."""
    from pypdf import PdfReader

    from trappoint.drawing.chart_pdf import chart_pdf

    path = next(path for path in WITH_SCENES if "selkie" in path.name)
    sizes: dict[str, float] = {}

    def read(text: str, cm: list[float], tm: list[float], _font: object, size: float) -> None:
        scale = hypot(tm[2], tm[3]) * hypot(cm[2], cm[3])
        sizes[text.strip()] = min(abs(size) * scale * 25.4 / 72, sizes.get(text.strip(), 99.0))

    for page in PdfReader(BytesIO(chart_pdf(report_of(path)).content)).pages:
        if "Dark blocks" in page.extract_text():
            page.extract_text(visitor_text=read)
    assert {"local", "neck", "Platform 1"} <= set(sizes)
    assert sizes["local"] == pytest.approx(10 * UNIT, abs=0.01)
    assert min(size for text, size in sizes.items() if text) > 1.79
