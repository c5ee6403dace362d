"""No name lies over a track, an arm, whether on or off, or another name; all can be read on paper.

The drawing is read back from its SVG, and measured in real fonts.
"""

from __future__ import annotations

import json
import random
import re
from collections.abc import Iterator
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from amount import amount, is_long
from drawing.drawn import diagram_of, report_of, root_of
from drawing.looking import SVG, Plan, parse, points_of
from drawing.seen import Room, clashes, covers, face_of, look, runs_of, width_in
from oracle.plans import random_plan
from trappoint.checking.check import check
from trappoint.drawing.diagram import Diagram, draw
from trappoint.drawing.drawn_places import Label
from trappoint.drawing.export import to_pdf
from trappoint.drawing.geometry import Box
from trappoint.drawing.leaders import Spot, Taken, far_spots
from trappoint.drawing.loose_names import place_names
from trappoint.drawing.paper import sheet_of
from trappoint.drawing.sketch import sketch
from trappoint.drawing.svg import write_svg
from trappoint.drawing.text_width import width_of

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ROOT = Path(__file__).parents[2]
EXAMPLES = [
    path
    for path in sorted((ROOT / "examples").glob("**/*.layout.json"))
    if path.parent.name != "slips"
]
SLIPS = sorted((ROOT / "examples" / "slips").glob("*.layout.json"))
NAMES = (
    "Λιμάνι των Νεράιδων", "Гавань русалок, дальняя", "WWWMMM WWW MÅÉ", "Zażółć gęślą jaźń",
)  # fmt: skip


def drawn(plan: Path | str, sheet: str, *, findings: bool) -> Diagram | None:
    """Draw a plan, as the command does; None for a text that is no plan."""
    if report_of(plan).layout is None:
        return None
    return diagram_of(plan, sheet_of(sheet).widest, findings=findings)


def assert_clear(diagram: Diagram) -> None:
    """Hold each sheet to the rule."""
    for svg in diagram.sheets(highest=sheet_of("a4").highest):
        assert look(svg).texts
        assert list(clashes(svg)) == []


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name.partition(".")[0])
@pytest.mark.parametrize("sheet", ["a4", "a3", "long"])
@pytest.mark.parametrize("findings", [False, True])
def test_no_name_in_an_example_lies_over_anything(path: Path, sheet: str, findings: bool) -> None:
    if findings and not report_of(path).findings:
        return  # drawn already
    diagram = drawn(path, sheet, findings=findings)
    assert diagram is not None
    assert_clear(diagram)


@pytest.mark.parametrize("path", SLIPS, ids=lambda path: path.name.partition(".")[0])
def test_no_name_in_a_slip_lies_over_anything(path: Path) -> None:
    diagram = drawn(path, "a4", findings=True)
    if diagram is not None:
        assert diagram.marked is not None
        assert_clear(diagram)


def dressed(seed: int) -> Plan:
    """Return a random plan; every third has long ids, every third names in other letters."""
    rng = random.Random(seed)
    text = json.dumps(random_plan(rng))
    if seed % 3 == 1:
        text = re.sub(r'"p(\d+)', r'"points-beyond-the-quay-\1', text)
        text = re.sub(r'"a(\d+)"', r'"starter-\1"', text)
    plan: Plan = json.loads(text)
    if seed % 3 == 2:
        plan["title"] = rng.choice(NAMES)
        for kind in ("platforms", "yards"):
            for thing in plan.get(kind, {}).values():
                thing["name"] = rng.choice(NAMES)
    return plan


SAMPLE = 24


def random_diagram(seed: int) -> Diagram:
    """Draw a random plan, every second with its findings."""
    diagram = drawn(json.dumps(dressed(seed)), "a4", findings=seed % 2 == 1)
    assert diagram is not None
    return diagram


@pytest.mark.parametrize("seed", range(amount(SAMPLE, long=300)))
def test_no_name_in_a_random_plan_lies_over_anything(seed: int) -> None:
    assert_clear(random_diagram(seed))


def test_the_random_plans_have_names_of_each_kind() -> None:
    seen: set[str] = set()
    for seed in range(SAMPLE):
        root = root_of(random_diagram(seed))
        seen |= {word for e in root.iter() for word in (e.get("class") or "").split()}
    assert seen >= {
        "mark", "platform", "yard-name", "track-name", "signal", "head", "points", "crossing",
        "turntable", "joint", "edge", "cut", "running",
    }  # fmt: skip


# --- leaders


@pytest.mark.parametrize("name", ["boggart-bridge", "slips/roads-of-a-crossing-swapped"])
def test_a_leader_goes_from_one_track_to_one_name(name: str) -> None:
    diagram = drawn(ROOT / "examples" / f"{name}.layout.json", "a4", findings=True)
    assert diagram is not None
    svg = diagram.svg()
    leaders = [e for e in parse(svg).iter(f"{SVG}path") if e.get("class") == "leader"]
    assert leaders
    tracks = [shape for shape in look(svg).shapes if shape.kind.endswith("tracks track")]
    for path in leaders:
        start, stop = points_of(path)
        (text,) = _beside(svg, stop)
        assert text.partition(" [")[0] in diagram.sketch.layout.tracks
        dot = Room(start[0] - 0.2, start[1] - 0.2, start[0] + 0.2, start[1] + 0.2)
        assert any(covers(dot, track) for track in tracks)


def test_a_name_without_room_beside_its_thing_gets_a_leader_that_crosses_nothing() -> None:
    walls = [Box(-40, -9, 40, -4, "wall"), Box(-40, 4, -4, 40, "wall")]
    taken = Taken([], walls)
    spot = taken.best([Spot(Box(-10, -10, 10, 0, "name")), *far_spots((0, 0), (20, 10), "name")])
    assert spot is not None
    assert spot.leader is not None
    start, stop = spot.leader
    assert start == (0, 0)
    assert stop[0] > 0, "left and above are walls"
    assert not any(spot.box.overlaps(wall) for wall in walls)
    taken.add(spot)
    again = taken.best(far_spots((20, 36), (20, 10), "other"))
    assert again is not None
    assert not again.box.overlaps(spot.box)


def test_a_leader_crosses_a_track_only_where_its_thing_is_shut_in() -> None:
    """By hand: names are 20 wide, tracks 40 apart, so that one track has to be crossed."""
    around: list[list[tuple[float, float]]] = [[(-300, y), (300, y)] for y in (-8.0, 8.0, 60.0)]
    spot = Taken(around, []).best(far_spots((0, 0), (20, 10), "name"))
    assert spot is not None
    assert spot.leader is not None
    low, high = sorted(y for _, y in spot.leader)
    assert sum(low < line[0][1] < high for line in around) == 1
    free = Taken(around[2:], []).best(far_spots((0, 0), (20, 10), "name"))
    assert free is not None
    assert free.leader is not None
    assert max(y for _, y in free.leader) < 60


def _beside(svg: str, end: tuple[float, float]) -> list[str]:
    x, y = end
    return [
        text.text
        for text in look(svg).texts
        if text.room.left - 3 <= x <= text.room.right + 3
        and text.room.top - 2 <= y <= text.room.bottom + 2
    ]


LONG = "the points beyond the quay and before the shed of the harbour"


@pytest.mark.parametrize("text", ["p1", LONG])
def test_the_name_of_points_that_lies_over_a_track_moves(text: str) -> None:
    layout = check(ROOT / "examples" / "kelpie-quay.layout.json").layout
    assert layout is not None
    drawing = sketch(layout)
    number = next(node.index for node in drawing.graph.nodes if node.id == "p1")
    wide = width_of(text, 10)
    drawing.places.labels[number] = Label(text, 12, -6, wide, 12)
    assert any(clash.text == text for clash in clashes(write_svg(drawing)))
    drawing.loose_names.clear()
    place_names(drawing)
    svg = write_svg(drawing)
    assert list(clashes(svg)) == []
    label = drawing.places.labels[number]
    assert label is not None
    leaders = [e for e in parse(svg).iter(f"{SVG}path") if e.get("class") == "leader"]
    if text == "p1":
        assert label.leader is None
        assert abs(label.left) < 20
    else:
        assert label.leader is not None
        spot = drawing.places.x[number], drawing.places.y[number]
        (stop,) = [
            points_of(leader)[1]
            for leader in leaders
            if points_of(leader)[0] == pytest.approx(spot, abs=0.06)
        ]
        assert _beside(svg, stop) == [text]


# --- the check itself


def _moved(svg: str, text: str, x: float, y: float) -> str:
    found = re.search(rf"<text x=\"[^\"]*\" y=\"[^\"]*\"([^>]*)>{text}</text>", svg)
    assert found is not None, text
    new = f'<text x="{x}" y="{y}"{found[1]}>{text}</text>'
    return svg.replace(found[0], new)


def test_the_check_sees_a_name_over_a_track_an_arm_and_an_arm_that_is_off() -> None:
    diagram = drawn(ROOT / "examples" / "kelpie-quay.layout.json", "a4", findings=False)
    assert diagram is not None
    svg = diagram.svg()
    seen = look(svg)
    own = next(text for text in seen.texts if text.kind.endswith("track-name"))
    for kind in ("tracks track", "arm", "arm off", "foot", "buffer"):
        shape = next(shape for shape in seen.shapes if shape.kind.endswith(kind))
        room = shape.room
        spot = (room.left + room.right) / 2, (room.top + room.bottom) / 2 + 3
        found = [clash.over for clash in clashes(_moved(svg, own.text, *spot))]
        assert any(over.endswith(kind) for over in found), (kind, found)
    other = next(text for text in seen.texts if text.text != own.text)
    moved = _moved(svg, own.text, other.room.left, other.room.bottom)
    assert any(clash.over.startswith("text") for clash in clashes(moved))


def test_an_arm_turns_by_45_degrees_about_the_end_of_its_doll() -> None:
    diagram = drawn(ROOT / "examples" / "kelpie-quay.layout.json", "a4", findings=False)
    assert diagram is not None
    seen = look(diagram.svg())
    on = [shape for shape in seen.shapes if shape.kind.endswith("signal arm")]
    off = [shape for shape in seen.shapes if shape.kind == "arm off"]
    assert len(on) == len(off) > 4
    assert any(one.room != other.room for one, other in zip(on, off, strict=True))


# --- widths


def _characters() -> Iterator[str]:
    for first, last in ((0x20, 0x7F), (0xA1, 0x180), (0x386, 0x3CF), (0x400, 0x460)):
        yield from (chr(code) for code in range(first, last) if chr(code).isprintable())
    yield from "…\u2013—\u2018\u2019“”€№"


@pytest.mark.parametrize("face", ["DejaVuSans", "DejaVuSans-Bold", "DejaVuSans-Oblique"])
def test_the_estimate_is_never_less_than_the_width_in_the_font(face: str) -> None:
    for char in _characters():
        estimate = width_of(char, 100, bold=face.endswith("Bold"))
        assert estimate >= width_in(char, face) * 100 - 0.05, char


def test_no_text_is_wider_in_a_browser_than_measured(browser: Browser) -> None:
    svgs = []
    for path in EXAMPLES:
        diagram = drawn(path, "a4", findings=True)
        if diagram is not None:
            svgs.append(diagram.svg(prefix=f"{len(svgs)}-"))
    page = browser.new_page()
    page.set_content("<!DOCTYPE html><meta charset=utf-8>" + "".join(svgs))
    wide = page.evaluate(
        "[...document.querySelectorAll('svg text')].map((t) => t.getComputedTextLength())"
    )
    page.close()
    texts = [text for svg in svgs for text in parse(svg).iter(f"{SVG}text")]
    assert len(texts) == len(wide) > 200
    for text, width in zip(texts, wide, strict=True):
        size = float(text.get("font-size") or 0)
        measured = sum(width_in(*run) for run in runs_of(text)) * size
        assert 0 < width <= measured + 0.5, (text.text, face_of(text))


# --- letters on paper


def heights_on_paper(pdf: bytes) -> list[float]:
    """Return the size of the letters of every text, in millimetres."""
    from pypdf import PdfReader

    heights: list[float] = []

    def note(text: str, around: list[float], own: list[float], _font: object, size: float) -> None:
        if text.strip():
            # The height of a letter one unit high, turned by both matrices (ISO 32000-1, 9.4.4).
            across = own[2] * around[0] + own[3] * around[2]
            down = own[2] * around[1] + own[3] * around[3]
            heights.append((across**2 + down**2) ** 0.5 * size / 72 * 25.4)

    for page in PdfReader(BytesIO(pdf)).pages:
        page.extract_text(visitor_text=note)
    return heights


@pytest.mark.skipif(find_spec("pypdf") is None, reason="pypdf is not installed")
@pytest.mark.parametrize(
    "path", EXAMPLES if is_long() else EXAMPLES[1::2], ids=lambda path: path.name.partition(".")[0]
)
def test_the_smallest_letters_on_paper_are_1_8_mm(path: Path) -> None:
    for sheet in ("a4", "a3") if is_long() else ("a4",):
        diagram = drawn(path, sheet, findings=True)
        assert diagram is not None
        paper = sheet_of(sheet)
        pdf = to_pdf(diagram.sheets(highest=paper.highest), paper)
        heights = heights_on_paper(pdf.content)
        assert len(heights) > 5
        assert min(heights) >= 1.8 - 1e-3


@pytest.mark.skipif(find_spec("pypdf") is None, reason="pypdf is not installed")
def test_a_long_list_of_findings_continues_on_further_sheets() -> None:
    report = check(ROOT / "examples" / "selkie-harbour.layout.json")
    assert report.layout is not None
    slip = check(ROOT / "examples" / "slips" / "siding-signal-forgotten.layout.json")
    many = slip.findings * (150 // len(slip.findings))
    diagram = draw(report.layout, table=report.table, findings=many, widest=sheet_of("a4").widest)
    paper = sheet_of("a4")
    sheets = diagram.sheets(highest=paper.highest)
    assert len(sheets) > 2
    texts = [text.text.strip() for svg in sheets for text in look(svg).texts]
    assert all(texts.count(f"[{number}]") == 1 for number in range(1, len(many) + 1))
    assert min(heights_on_paper(to_pdf(sheets, paper).content)) >= 1.8 - 1e-3
    for svg in sheets:
        assert list(clashes(svg)) == []
