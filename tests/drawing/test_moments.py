"""Scenes and roads on the diagram, read back from its SVG."""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
from dataclasses import replace
from functools import cache
from itertools import pairwise
from math import cos, dist, radians, sin
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

import pytest

from amount import amount
from drawing.drawn import report_of
from drawing.looking import SVG, Point, groups, parse, points_of
from oracle.plans import random_plan
from trappoint.checking.check import check
from trappoint.cli import main
from trappoint.drawing.diagram import draw
from trappoint.drawing.moment import Moment, StandingTrain, moment_of_road, moment_of_scene
from trappoint.model.layout import Scene, lie_of
from trappoint.operation.road import Asked, set_road
from trappoint.operation.standing import NoPlace
from trappoint.operation.train_places import stretches_of

if TYPE_CHECKING:
    from trappoint import Layout, Report
    from trappoint.drawing.diagram import Diagram
    from trappoint.drawing.sketch import Sketch

EXAMPLES = Path(__file__).parents[2] / "examples"
PLANS = sorted(EXAMPLES.glob("*.layout.json"))
KELPIE = EXAMPLES / "kelpie-quay.layout.json"
HARBOUR = EXAMPLES / "selkie-harbour.layout.json"
Element = ElementTree.Element


@cache
def report_at_random(seed: int) -> Report:
    return check(json.dumps(random_plan(random.Random(seed))))


def drawn(report: Report, moment: Moment | None) -> Element:
    assert moment is not None
    return parse(replace(plain(report), moment=moment).svg())


DIAGRAMS: dict[int, tuple[Report, Diagram]] = {}
"""From the identity of a report to the report, which keeps it unique, and its diagram."""


def plain(report: Report) -> Diagram:
    """The diagram without a moment; another moment changes no place on it."""
    if id(report) not in DIAGRAMS:
        assert report.layout is not None
        DIAGRAMS[id(report)] = report, draw(report.layout, table=report.table)
    return DIAGRAMS[id(report)][1]


def scenes_of_examples() -> list[Any]:
    found = []
    for path in PLANS:
        for scene in json.loads(path.read_text("utf-8")).get("scenes", {}):
            found.append(pytest.param(path, scene, id=f"{path.name.partition('.')[0]}-{scene}"))
    return found


# --- what the SVG shows


def start_of(leg: Element) -> Point:
    return points_of(leg)[0]


def legs_of(group: Element) -> dict[str, Element]:
    return {each.get("data-leg") or "": each for each in group if each.get("class") == "leg"}


def assert_points_lie(root: Element, layout: Layout, lies: dict[str, str]) -> None:
    tracks = [path for group in groups(root, "track") for path in group.findall(f"{SVG}path")]
    rails = [points_of(path) for path in tracks if path.get("class") != "running"]
    assert {group.get("data-id") for group in groups(root, "points")} == set(layout.points)
    for group in groups(root, "points"):
        own = layout.points[group.get("data-id") or ""]
        lie = lie_of(own, lies.get(own.id, "normal"))
        legs = legs_of(group)
        middle = start_of(legs["toe"])
        closed = {name for name, leg in legs.items() if dist(start_of(leg), middle) < 0.3}
        assert closed == {"toe", lie}, own.id
        assert group.get("data-lie") == lie
        for name in set(legs) - closed:
            x, y = start_of(legs[name])
            gap = (x + middle[0]) / 2, (y + middle[1]) / 2
            assert dist((x, y), middle) > 5
            assert all(away(gap, line) > 1 for line in rails), f"the gap of {own.id} is open"


def assert_slips_lie(root: Element, layout: Layout, lies: dict[str, str]) -> None:
    for group in groups(root, "crossing"):
        own = layout.crossings[group.get("data-id") or ""]
        slip = own.kind != "diamond" and lie_of(own, lies.get(own.id, "normal")) == "slip"
        starts = [start_of(leg) for leg in legs_of(group).values()]
        together = max(dist(a, b) for a in starts for b in starts)
        assert together > 5 if slip else together < 0.3, own.id
        for link in group:
            if link.get("class") == "slip":
                assert (link.get("stroke-width") is None) == slip, "thick as the rails if set"


def assert_arms_are_off(root: Element, layout: Layout, off: set[str]) -> None:
    arms = {group.get("data-arm") or "": group for group in groups(root, "arm")}
    assert {arm for arm, group in arms.items() if groups(group, "off")} == off
    for arm in layout.arms():
        if arm.id in off:
            (shape,) = groups(arms[arm.id], "off")
            turned = (shape.get("transform") or "").startswith("rotate(")
            assert turned == (layout.signals[arm.signal].form != "colour-light")


def block_of(train: Element) -> list[Point]:
    """Return the left end of a block, its middle and its right end, along the rails."""
    rect = next(train.iter(f"{SVG}rect"))
    x, y, width, height = (float(rect.get(each) or 0) for each in ("x", "y", "width", "height"))
    turned = train.find(f"{SVG}g")
    angle = 0.0
    if turned is not None:
        angle = radians(float((turned.get("transform") or "").split("(")[1].split()[0]))
    middle = x + width / 2, y + height / 2
    ways = (-width / 2, 0, width / 2)
    return [(middle[0] + way * cos(angle), middle[1] + way * sin(angle)) for way in ways]


def away(point: Point, line: list[Point]) -> float:
    """Return the distance between a point and a line."""
    best = dist(point, line[0])
    for (x1, y1), (x2, y2) in pairwise(line):
        length = dist((x1, y1), (x2, y2)) ** 2
        if not length:
            continue
        share = ((point[0] - x1) * (x2 - x1) + (point[1] - y1) * (y2 - y1)) / length
        share = min(1.0, max(0.0, share))
        best = min(best, dist(point, (x1 + share * (x2 - x1), y1 + share * (y2 - y1))))
    return best


def assert_on_track(root: Element, train: Element, tracks: set[str]) -> None:
    """The whole block lies on one line of one of these tracks."""
    assert train.get("data-on") in tracks
    (track,) = (g for g in groups(root, "track") if g.get("data-track") == train.get("data-on"))
    lines = [points_of(p) for p in track.findall(f"{SVG}path") if p.get("class") != "running"]
    spots = block_of(train)
    # A track begins after the gap of points that lie against it: a train without room covers that.
    assert any(
        away(spots[1], line) < 0.2 and all(away(spot, line) < 6.2 for spot in spots)
        for line in lines
    ), train.get("data-train")


def assert_shown(report: Report, scene: Scene) -> Element:
    layout = report.layout
    assert layout is not None
    root = drawn(report, moment_of_scene(layout, scene))
    lies = dict(scene.points)
    assert_points_lie(root, layout, lies)
    assert_slips_lie(root, layout, lies)
    assert_arms_are_off(root, layout, set(scene.off))
    trains = groups(root, "train")
    assert len(trains) == len(scene.trains)
    for (place, name), train in zip(scene.trains.items(), trains, strict=True):
        assert train.get("data-train") == (name if isinstance(name, str) else None)
        tracks = set(layout.yards[place].tracks) if place in layout.yards else {place}
        assert_on_track(root, train, tracks)
        assert_between(plain(report).sketch, root, train, None, None)
    return root


# --- scenes


@pytest.mark.parametrize(("path", "scene"), scenes_of_examples())
def test_every_scene_of_the_examples_is_drawn_as_it_is(path: Path, scene: str) -> None:
    report = report_of(path)
    assert report.layout is not None
    root = assert_shown(report, report.layout.scenes[scene])
    name = json.loads(path.read_text("utf-8"))["scenes"][scene]["name"]
    texts = ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]
    assert any(text.endswith(f": scene {name}") for text in texts)
    assert (root.findtext(f"{SVG}title") or "").endswith(f": scene {name}")
    assert f"Scene {name}. " in (root.findtext(f"{SVG}desc") or "")
    feet = [foot_of(group) for group in (*groups(root, "signal"), *groups(root, "head"))]
    assert feet
    for train in groups(root, "train"):
        left, middle, right = block_of(train)
        covered = [foot for foot in feet if away(foot, [left, right]) < 5]
        near = [x - middle[0] for x, y in feet if abs(y - middle[1]) < 1]
        after, before = [x for x in near if x > 0], [-x for x in near if x < 0]
        if covered and after and before:
            room = min(after) + min(before)
            assert room < right[0] - left[0] + 12, "a train covers feet only without other room"


def random_scene(rng: random.Random, layout: Layout) -> Scene:
    """Return a scene in which anything may lie, be off and stand."""
    switches = [layout.switch(name) for name in (*layout.points, *layout.crossings)]
    lies = {
        switch.id: rng.choice([*switch.lies, "normal", str(switch.reverse or "normal")])
        for switch in switches
        if switch is not None and rng.random() < 0.6
    }
    off = tuple(arm.id for arm in layout.arms() if rng.random() < 0.4)
    stands = [*layout.tracks, *layout.yards]
    trains = rng.sample(stands, rng.randint(0, min(4, len(stands))))
    names: list[object] = ["mail", "a-train-with-a-very-long-name-indeed", True]
    return Scene("now", lies, off, {place: rng.choice(names) for place in trains})


@pytest.mark.parametrize("part", range(4))
def test_random_scenes_of_random_plans_are_drawn_as_they_are(part: int) -> None:
    for seed in range(part, amount(40, long=600), 4):
        report = report_at_random(seed)
        assert report.layout is not None
        assert_shown(report, random_scene(random.Random(seed), report.layout))


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.name.partition(".")[0])
def test_random_scenes_of_the_examples_are_drawn_as_they_are(path: Path) -> None:
    rng, report = random.Random(path.name), report_of(path)
    assert report.layout is not None
    for _ in range(amount(2, long=20)):
        assert_shown(report, random_scene(rng, report.layout))


def test_a_drawing_without_a_moment_shows_the_normal_lies() -> None:
    layout = report_of(HARBOUR).layout
    assert layout is not None
    root = parse(draw(layout).svg())
    assert not groups(root, "train")
    assert not groups(root, "off")
    assert not [each for each in root.iter() if each.get("data-lie")]


# --- roads


def test_a_train_is_on_its_section_between_the_feet_of_the_signals() -> None:
    """Every section of every cut track, in the examples and in random plans."""
    seen = beside = 0
    reports = [*map(report_of, PLANS), *map(report_at_random, range(amount(40, long=600)))]
    for report in reports:
        facts, layout = report.facts, report.layout
        if facts is None or layout is None:
            continue
        for track, cuts in facts.network.cuts.items():
            ends = [None, *cuts, None]
            for after, before in pairwise(ends) if cuts else ():
                part = ends.index(after) if after is not None else 0
                state = facts.network.sections[track][part]["down"]
                name = facts.network.place(state).name
                on = tuple(each for each in stretches_of(facts, name) if each[0] == track)
                assert (track, after, before) in on or facts.network.place(state).id != track
                stands = StandingTrain("", "", name, ((track, after, before),))
                moment = Moment("", {}, frozenset(), (stands,))
                root = drawn(report, moment)
                (train,) = groups(root, "train")
                assert_on_track(root, train, {track})
                beside += assert_between(plain(report).sketch, root, train, after, before)
                seen += 1
    assert seen > 50
    assert beside > 50


def assert_between(
    sketch: Sketch, root: Element, train: Element, after: float | None, before: float | None
) -> bool:
    """The block is between the posts at the cuts beside its line: whether there are any."""
    spots = block_of(train)
    track = train.get("data-on")
    (piece,) = (
        each
        for each in sketch.graph.pieces
        if each.track == track and away(spots[1], sketch.lines[each.index]) < 0.2
    )
    feet: dict[bool, list[float]] = {True: [], False: []}
    for group in (*groups(root, "signal"), *groups(root, "head")):
        signal = sketch.layout.signals[group.get("data-signal") or ""]
        x, y = foot_of(group)
        if group.get("data-track") != track or away((x, y), sketch.lines[piece.index]) > 3.2:
            continue
        for cut, is_up in ((after, True), (before, False)):
            at_end = signal.at_mm is None and group.get("data-for") == ("up" if is_up else "down")
            at_cut = signal.at_mm is not None and signal.track == track
            if signal.at_mm == cut and (at_end or at_cut):
                feet[is_up != piece.turned].append(x)
    left, right = max(feet[True], default=spots[0][0]), min(feet[False], default=spots[2][0])
    if left < right:
        # Without other room, a block covers the feet, which are 6 wide; the least block is 8 wide.
        over = 3.2 if dist(spots[0], spots[2]) > 8.2 else 7.2
        assert left - over <= spots[0][0] < spots[2][0] <= right + over
    return left < right and bool(feet[True] or feet[False])


def foot_of(group: Element) -> Point:
    """Return the middle of the foot of a post: a thick line, or a hollow square for a head."""
    for each in group:
        if each.get("class") == "foot":
            (x1, y1), (x2, _) = points_of(each)
            return (x1 + x2) / 2, y1
    (square,) = group.findall(f"{SVG}rect")
    return float(square.get("x") or 0) + 3, float(square.get("y") or 0) + 3


def test_draw_and_road_draw_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one, other = tmp_path / "one.svg", tmp_path / "other.svg"
    assert main(["draw", str(KELPIE), "--road", "town-line", "siding", "-o", str(one)]) == 0
    assert capsys.readouterr() == ("", "")
    assert main(["road", str(KELPIE), "town-line", "siding", "--draw", str(other)]) == 0
    assert one.read_bytes() == other.read_bytes()
    root = parse(one.read_text("utf-8"))
    assert (root.findtext(f"{SVG}title") or "").endswith(": road from town-line to siding")
    (train,) = groups(root, "train")
    assert train.get("data-on") == "town-line"
    layout = report_of(KELPIE).layout
    assert layout is not None
    assert_arms_are_off(root, layout, {"1L", "4L"})
    lit = {g.get("data-track") for g in groups(root, "track") if g.get("stroke-width") == "5"}
    assert lit == {"town-line", "loop-west", "siding"}


def test_a_scene_places_the_other_trains_of_a_road(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--scene", "two-at-once", "--road", "moor-line-down", "plat-1"]
    report = report_of(HARBOUR)
    assert report.facts is not None
    assert report.layout is not None
    road = set_road(report.facts, Asked("bay", "edge:moor-up", scene="two-at-once"))
    root = drawn(report, moment_of_road(road, report.layout))
    assert {each.get("data-train") for each in groups(root, "train")} == {"local", "fish"}
    assert main(["draw", str(HARBOUR), *words]) == 2
    assert "no track, platform, yard or edge called moor-line-down" in capsys.readouterr().err


def test_a_train_that_moves_first_stands_where_it_moved_to() -> None:
    report = report_of(KELPIE)
    assert report.facts is not None
    assert report.layout is not None
    found = 0
    stands = [report.facts.network.places[s.place].name for s in report.facts.network.stands]
    for start in stands:
        for to in stands:
            try:
                road = set_road(report.facts, Asked(start, to, standing=(to,)))
            except NoPlace:
                continue
            if road.outcome != "clear-first" or len(road.orders) != 2:
                continue
            root = drawn(report, moment_of_road(road, report.layout))
            moved = report.facts.network.places
            at = {each.get("data-on") for each in groups(root, "train")}
            names = {place.name: place.id for place in moved}
            assert names[road.orders[0].end] in at
            assert names[to] not in at - {names[start]} or names[to] == names[road.orders[0].end]
            found += 1
    assert found > 3


# --- the command


@pytest.mark.parametrize(
    ("path", "words", "said"),
    [
        (HARBOUR, ("--scene", "two-at-onec"), "Is two-at-once meant?"),
        (HARBOUR, ("--scene", "noon"), "Its scenes: two-at-once and fish-away."),
        (KELPIE, ("--scene", "noon"), "It has no scenes."),
        (KELPIE, ("--road", "town-lien", "siding"), "Is town-line meant?"),
        (KELPIE, ("--road", "siding", "loop-east"), "No train may stand in loop-east"),
        (KELPIE, ("--road", "siding", "siding"), "already"),
        (KELPIE, ("--via", "main"), "--via needs a road: --road FROM TO."),
        (HARBOUR, ("--road", "edge:moor-up", "plat-1"), "No road leads from"),
        (HARBOUR, ("--scene", "fish-away", "-o", "scene.html"), "--scene and --road need SVG"),
    ],
)
def test_slips_get_a_message(
    path: Path, words: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["draw", str(path), *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert err.startswith("trappoint: ")


@pytest.mark.parametrize("words", [("--scene", "fish-away"), ("--road", "bay", "edge:moor-up")])
def test_the_same_words_give_the_same_bytes(words: tuple[str, ...]) -> None:
    pictures = {
        subprocess.run(
            [sys.executable, "-m", "trappoint", "draw", str(HARBOUR), *words],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(pictures) == 1
    assert b"<svg" in pictures.pop()


def test_markup_in_the_names_of_a_scene_stays_text() -> None:
    nasty = '</text><script>alert("x")</script>'
    plan = json.loads(HARBOUR.read_text("utf-8"))
    plan["scenes"]["fish-away"]["name"] = plan["trains"]["fish"]["name"] = nasty
    report = check(json.dumps(plan))
    assert report.layout is not None
    root = assert_shown(report, report.layout.scenes["fish-away"])
    assert not list(root.iter(f"{SVG}script"))


def test_a_plan_with_errors_shows_its_scene() -> None:
    """A scene may name what the plan does not have: the rest is shown."""
    plan = json.loads(KELPIE.read_text("utf-8"))
    plan["scenes"] = {
        "noon": {"points": {"p1": "reverse", "p99": "left"}, "off": ["99"], "trains": {"x": True}}
    }
    report = check(json.dumps(plan))
    assert any(finding.level == "error" for finding in report.findings)
    layout = report.layout
    assert layout is not None
    root = drawn(report, moment_of_scene(layout, layout.scenes["noon"]))
    assert_points_lie(root, layout, {"p1": "reverse"})
    assert not groups(root, "train")
