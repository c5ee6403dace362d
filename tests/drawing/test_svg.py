"""The SVG as a page uses it: ids, titles, roads to light up, no harmful content."""

from __future__ import annotations

import json
import os
import random
import re
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from amount import amount
from drawing.drawn import diagram_of, report_of, root_of
from drawing.looking import SVG, groups, parse
from oracle.plans import random_plan
from trappoint.checking.check import check
from trappoint.drawing.diagram import draw
from trappoint.drawing.text_width import width_of

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*.layout.json"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name.partition(".")[0])
def test_everything_of_the_plan_is_there_and_can_be_told_apart(path: Path) -> None:
    plan = json.loads(path.read_text("utf-8"))
    root = root_of(diagram_of(path))
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    for kind, name in (
        ("tracks", "track"), ("points", "points"), ("crossings", "crossing"),
        ("turntables", "turntable"), ("platforms", "platform"), ("signals", "signal"),
        ("yards", "yard"),
    ):  # fmt: skip
        for thing in plan.get(kind, {}):
            assert f"{name}-{thing}" in ids
    arms = {arm["id"] for signal in plan["signals"].values() for arm in signal["arms"]}
    assert {group.get("data-arm") for group in groups(root, "arm")} == arms
    for group in root.iter(f"{SVG}g"):
        if group.get("id"):
            title = group.find(f"{SVG}title")
            assert title is not None
            assert title.text


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name.partition(".")[0])
def test_one_call_finds_the_road_of_an_arm_and_one_the_arms_it_excludes(path: Path) -> None:
    report = report_of(path)
    assert report.table is not None
    root = root_of(diagram_of(path))

    def with_token(attribute: str, token: str) -> list[ElementTree.Element]:
        return [e for e in root.iter() if token in (e.get(attribute) or "").split()]

    for entry in report.table.arms:
        lit = with_token("data-road-of", entry.arm)
        tracks = {track for route in entry.routes for track in route.over}
        assert {e.get("data-track") for e in lit if e.get("class") == "track"} == tracks
        switches = {switch for route in entry.routes for switch in route.points}
        named = {e.get("data-id") for e in lit if e.get("data-kind")}
        assert switches <= named
        for route in entry.routes:
            for switch, lie in route.points.items():
                assert any(
                    f"{entry.arm}:{lie}" in (e.get("data-lies") or "").split()
                    for e in lit
                    if e.get("data-id") == switch
                )
        excluded = {e.get("data-arm") for e in with_token("data-excluded-by", entry.arm)}
        assert excluded == {c.arm for c in entry.conflicts if c.when is None}


def test_markup_in_a_plan_stays_text() -> None:
    nasty = '</text><script>alert("x")</script>&\'"\u0007<!-- ]]>'
    plan = json.loads((ROOT / "examples" / "selkie-harbour.layout.json").read_text("utf-8"))
    plan["title"] = nasty
    for kind in ("platforms", "yards", "tracks", "signals"):
        for thing in plan[kind].values():
            thing["name"] = nasty
            thing["note"] = nasty
    report = check(json.dumps(plan))
    assert report.layout is not None
    svg = draw(report.layout, table=report.table, findings=report.findings).svg()
    root = parse(svg)
    assert not list(root.iter(f"{SVG}script"))
    assert "<script" not in svg
    assert any("<script>" in (text.text or "") for text in root.iter(f"{SVG}title"))


def test_nothing_is_fetched_and_nothing_runs() -> None:
    for path in EXAMPLES:
        svg = diagram_of(path).svg()
        assert not re.search(r"href|url\(|@import|<script|<style|\son\w+=", svg)
        assert svg.count("http") == 1, "the name of the SVG namespace"


def test_the_same_plan_gives_the_same_bytes() -> None:
    code = (
        "import sys, trappoint; from trappoint.drawing.diagram import draw\n"
        "r = trappoint.check(sys.argv[1]); sys.stdout.write(draw(r.layout, table=r.table).svg())"
    )
    path = str(ROOT / "examples" / "selkie-harbour.layout.json")
    pictures = {
        subprocess.run(
            [sys.executable, "-c", code, path],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(pictures) == 1
    assert b"<svg" in pictures.pop()


@pytest.mark.parametrize("seed", range(amount(15, long=40)))
def test_new_names_of_the_same_width_change_nothing_but_the_names(seed: int) -> None:
    assert width_of("pa", 9) == width_of("qo", 9)
    text = json.dumps(random_plan(random.Random(seed)))
    renamed = re.sub(r'"p(\d+)', r'"q\1', text)
    renamed = re.sub(r'"id": "a(\d+)"', r'"id": "o\1"', renamed)
    before, after = check(text).layout, check(renamed).layout
    assert before is not None
    assert after is not None
    one, other = draw(before).svg(), draw(after).svg()

    def without_texts(svg: str) -> str:
        svg = re.sub(r">[^<>]+<", "><", svg)
        return re.sub(r' (id|data-[a-z-]+)="[^"]*"', "", svg)

    assert without_texts(one) == without_texts(other)


def test_findings_stand_at_their_place_with_their_message() -> None:
    report = check(ROOT / "examples" / "slips" / "siding-signal-forgotten.layout.json")
    assert report.layout is not None
    assert report.findings
    root = parse(draw(report.layout, table=report.table, findings=report.findings).svg())
    texts = ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]
    joined = " ".join(texts)
    for number, finding in enumerate(report.findings, 1):
        assert f"[{number}]" in joined
        assert " ".join(finding.message.split()[:4]) in joined
    assert "siding [1]" in texts


def test_a_prefix_keeps_ids_of_two_drawings_apart() -> None:
    diagram = diagram_of(EXAMPLES[0])
    ids = [e.get("id") for e in parse(diagram.svg(prefix="one-")).iter() if e.get("id")]
    assert ids
    assert all((name or "").startswith("one-") for name in ids)


def test_an_empty_plan_is_a_sheet_with_its_title() -> None:
    layout = check('{"format": "trappoint-layout/1", "tracks": {}, "title": "Nowhere"}').layout
    assert layout is not None
    assert "Nowhere" in draw(layout).svg()
