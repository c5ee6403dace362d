"""The whole output of ``trappoint road``, and its messages for mistakes."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from commands.in_process import trappoint
from commands.running import EXAMPLES, KELPIE, plan

EXPECTED = Path(__file__).parent / "expected"
SELKIE = EXAMPLES / "selkie-harbour.layout.json"

CASES = {
    "through-a-signal.txt": (0, KELPIE, "town-line", "siding", "--all"),
    "back-and-forth.md": (0, KELPIE, "siding", "A", "--all", "--format", "markdown"),
    "one-to-move-first.txt": (1, KELPIE, "town-line", "A", "--standing", "main"),
    "two-to-move-first.txt": (
        *(1, KELPIE, "town-line", "A", "--standing", "main", "--standing", "quarry-line"),
        "--all",
    ),
    "two-to-move-first.json": (
        *(1, KELPIE, "town-line", "A", "--standing", "main", "--standing", "quarry-line"),
        *("--format", "json"),
    ),
    "locked-up.txt": (
        *(1, KELPIE, "town-line", "siding"),
        *(word for track in ("main", "loop-west", "siding", "quarry-line")
          for word in ("--standing", track)),
    ),
    "no-road.txt": (1, SELKIE, "down-line", "up-line", "--via", "bay", "--arriving", "down"),
    "with-levers.txt": (0, SELKIE, "down-line", "shed"),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_the_whole_output(name: str, rewrite: bool) -> None:
    code, *words = CASES[name]
    done = trappoint("road", *words)
    assert done.returncode == code, done.stderr
    if name.endswith(".txt"):
        assert max(map(len, done.stdout.splitlines())) <= 80
    golden = EXPECTED / name
    if rewrite:
        golden.parent.mkdir(exist_ok=True)
        golden.write_text(done.stdout, "utf-8")
    assert done.stdout == golden.read_text("utf-8")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("town-lin", "A"), "called town-lin in this plan. Is town-line meant?"),
        (("loop-east", "A"), "No train may stand in loop-east"),
        (("main", "A"), "The train is in A already"),
        (("main", "edge:moor"), "called edge:moor"),
        (("main", "B", "--scene", "noon"), "no scene called noon"),
        (("main", "B", "--standing", "siding", "--standing", "siding"), "cannot stand in the same"),
        (("main", "B", "--via", "nowhere"), "called nowhere"),
    ],
)
def test_mistakes_get_a_message(words: tuple[str, ...], said: str) -> None:
    done = trappoint("road", KELPIE, *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_a_plan_that_cannot_be_read() -> None:
    done = trappoint("road", "-", "a", "b", given=b"{")
    assert done.returncode == 1
    assert "error" in done.stderr


def test_a_scene_gives_the_places_of_trains_and_the_lies_of_points() -> None:
    text = plan(
        trains={"local": {}, "goods": {}},
        scenes={
            "noon": {"trains": {"main": "goods", "town-line": "local"}, "points": {"p1": "reverse"}}
        },
    )
    done = trappoint("road", "-", "town-line", "B", "--scene", "noon", "--format", "json",
                     given=text.encode())  # fmt: skip
    told = json.loads(done.stdout)
    assert told["outcome"] == "free"
    assert [each["train"] for each in told["standing"]] == ["local", "goods"]
    (order,) = told["orders"]
    assert [work["do"] for work in order["stages"][0]["do"]] == ["off"]  # p1 lies so already
    assert order["restore"] == []


def test_the_road_is_drawn(tmp_path: Path) -> None:
    file = tmp_path / "road.svg"
    done = trappoint("road", KELPIE, "town-line", "siding", "--draw", file)
    assert done.returncode == 0, done.stderr
    drawn = ElementTree.fromstring(file.read_text("utf-8"))  # noqa: S314 - its own drawing
    lit = {
        each.get("data-track")
        for each in drawn.iter()
        if each.get("class") == "track" and each.get("stroke-width") == "5"
    }
    assert lit == {"town-line", "loop-west", "siding"}
    off = {
        arm.get("data-arm")
        for arm in drawn.iter()
        if arm.get("class") == "arm" and any(each.get("class") == "off" for each in arm)
    }
    assert off == {"1L", "4L"}
    legs = {
        (points.get("data-id"), leg.get("data-leg"))
        for points in drawn.iter()
        for leg in points
        if points.get("data-kind") == "points" and leg.get("stroke-width") == "5"
    }
    assert legs == {("p1", "toe"), ("p1", "left"), ("p3", "toe"), ("p3", "left")}


def test_a_drawing_that_cannot_be_written(tmp_path: Path) -> None:
    done = trappoint("road", KELPIE, "siding", "B", "--draw", tmp_path / "no" / "road.svg")
    assert done.returncode == 2
    assert "cannot be written" in done.stderr
