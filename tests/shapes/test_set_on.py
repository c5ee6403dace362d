"""Test the step ``lay-shape``: shapes set onto free ends, to the east and to the west.

Each run follows 12 random plans; a long run follows 300.
"""

from __future__ import annotations

import importlib.util
import json
import random
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from amount import amount, is_long
from oracle.two_trains import holds
from shapes.asking import AT_THE_END, TAKES, Plan, laid, options
from shapes.test_drawn import drawn, heights
from shapes.test_track import MENDED_BY_SIGNALS, TURNING
from trappoint import check
from trappoint.laying.catalogue import offers
from trappoint.laying.refusing import Refused
from trappoint.laying.steps import lay
from trappoint.shapes.listing import shapes_as_data
from trappoint.shapes.options import LABELS
from trappoint.shapes.shapes import SHAPES

EXAMPLES = Path(__file__).parents[2] / "examples"


def set_on(plan: Plan | None, *steps: dict[str, Any]) -> Plan:
    """Do steps of the verb ``lay-shape``; return the plan."""
    text = None if plan is None else json.dumps(plan)
    done = lay(text, [{"do": "lay-shape", **step} for step in steps])
    found: Plan = json.loads(done.text)
    return found


LINE = {
    "format": "trappoint-layout/1",
    "tracks": {"main": {"up": "edge:town", "down": "buffer", "length_mm": 3000}},
}


def test_a_loop_onto_an_edge_in_the_west_by_hand() -> None:
    """It is turned: the line comes to its toes from both sides as before, and left stays left."""
    plan = set_on(LINE, {"shape": "passing-loop", "at": "edge:town", "platforms": 0})
    assert plan["tracks"] == {
        "main": {"up": "p1.toe", "down": "buffer", "length_mm": 3000},
        "loop-road-1": {"up": "p2.right", "down": "p1.left", "stand": True, "length_mm": 1400},
        "loop-road-2": {"up": "p2.left", "down": "p1.right", "stand": True, "length_mm": 1400},
        "line-1": {"up": "edge:town", "down": "p2.toe", "length_mm": 2000},
    }
    assert plan["points"] == {"p1": {"normal": "left"}, "p2": {"normal": "left"}}


def test_a_junction_onto_a_buffer_by_hand() -> None:
    """The buffer stands at the far end; the branch leaves the plan, and the line stays a stand."""
    plan = set_on(LINE, {"shape": "junction", "at": "tracks/main/down", "lines": 1})
    assert plan["tracks"] == {
        "main": {"up": "edge:town", "down": "p1.toe", "length_mm": 3000},
        "branch-1": {"up": "p1.left", "down": "edge:branch", "length_mm": 2000},
        "line-1": {"up": "p1.right", "down": "buffer", "length_mm": 2000},
    }


def test_a_double_line_goes_on_from_its_edge() -> None:
    """One name stands for the edges of both lines; points make one line of two, and two of one."""
    double = laid("plain-line:lines=2")
    east = set_on(double, {"shape": "crossover", "at": "edge:east"})
    west = set_on(double, {"shape": "crossover", "at": "edge:west"})
    for plan in (east, west):
        ends = {
            end: track["running"]
            for track in plan["tracks"].values()
            for end in (track["up"], track["down"])
            if "running" in track and end.startswith("edge:")
        }
        assert ends == {
            **{"edge:west-down": "down", "edge:west-up": "up"},
            **{"edge:east-down": "down", "edge:east-up": "up"},
        }
    single = set_on(double, {"shape": "passing-loop", "at": "edge:west"})
    assert [track for track in single["tracks"].values() if track["up"] == "edge:west"]
    again = set_on(single, {"shape": "crossover", "at": "edge:west"})
    found = {track["up"] for track in again["tracks"].values()}
    assert {"edge:west-down", "edge:west-up"} <= found


def test_north_stays_north_at_either_end() -> None:
    for name, beside in (("siding", "siding"), ("junction", "branch-1")):
        for at in ("edge:east", "edge:west"):
            for side in ("north", "south"):
                step = {"shape": name, "at": at, "side": side, "lines": 1}
                plan = set_on(laid("plain-line"), step)
                sketch = drawn(plan)
                assert not any(piece.turned for piece in sketch.graph.pieces)
                found = heights(sketch)
                assert (found[beside] < found["line-1"]) is (side == "north"), (name, at)


def test_buffers_lie_where_they_were_asked_for_at_either_end() -> None:
    for at in ("edge:east", "edge:west"):
        for way, end in (("east", "down"), ("west", "up")):
            plan = set_on(laid("plain-line"), {"shape": "siding", "at": at, "buffers": way})
            assert plan["tracks"]["siding"][end] == "buffer"


def test_what_names_an_edge_that_is_no_more_goes_too() -> None:
    plan = {**LINE, "edges": {"town": {"note": "To town."}}}
    ended = set_on(plan, {"shape": "terminus", "at": "edge:town"})
    assert "edges" not in ended
    wider = set_on(plan, {"shape": "crossover", "at": "edge:town"})
    assert list(wider["edges"]) == ["town-down"]


def test_a_name_begins_the_new_ids() -> None:
    step = {"shape": "siding", "at": "edge:town", "name": "Goods Shed"}
    assert "goods-shed-siding" in set_on(LINE, step)["tracks"]
    named = {"shape": "siding", "at": "edge:town", "name": "goods"}
    twice = set_on(LINE, {"shape": "siding", "at": "edge:town"}, named)
    assert {"siding", "goods-siding"} <= twice["tracks"].keys()
    alike = set_on(LINE, *({"shape": "siding", "at": "edge:town"} for _ in range(3)))
    assert {"siding", "siding-2", "siding-3"} <= alike["tracks"].keys()


REFUSALS: list[tuple[dict[str, Any], str, str]] = [
    ({}, "does not say shape", "Add `shape`"),
    ({"shape": "sidng", "at": "edge:town"}, "sidng", "Give siding"),
    ({"shape": "siding"}, "says no free end", "Add `at`"),
    ({"shape": "siding", "at": "edge:twn"}, "no free end", "edge:town or tracks/main/down"),
    ({"shape": "siding", "at": 3}, "no free end the number 3", "edge:town"),
    ({"shape": "siding", "at": []}, "names 0 free ends", "Name one"),
    ({"shape": "siding", "at": ["edge:town"] * 2}, "names 1 free ends", "Name one"),
    ({"shape": "siding", "at": ["edge:town", "tracks/main/down"]}, "both up ends", "free end"),
    (
        {"shape": "siding", "at": "edge:town", "roads": 2},
        "roads is no option of a siding",
        "Change",
    ),
    ({"shape": "siding", "at": "edge:town", "side": 3}, "side=south or side=north", "Change"),
    ({"shape": "siding", "at": "edge:town", "side": []}, "is an empty list", "side of the line"),
    ({"shape": "siding", "at": "edge:town", "name": "..."}, "cannot begin an id", "letters"),
    ({"shape": "siding", "at": "edge:town", "name": "main"}, "begin with main", "another"),
    ({"shape": "round-and-round", "at": "edge:town"}, "closed in itself", "Change the shape"),
    ({"shape": "terminus", "at": "edge:town", "roads": 1.5}, "is the number 1.5", "Give a number"),
]


@pytest.mark.parametrize(("step", "message", "fix"), REFUSALS)
def test_what_cannot_be_set_on_is_said(step: dict[str, Any], message: str, fix: str) -> None:
    with pytest.raises(Refused) as refused:
        set_on(LINE, step)
    assert message in refused.value.message
    assert fix in refused.value.fix


def test_strange_measures_are_refused_and_nothing_else() -> None:
    """Each measure of the step gets each strange value: the step is done, or refused in words."""
    values: list[Any] = [
        *(None, True, -1, 0, 10**400, 1e308, float("nan"), float("inf"), 2.5),
        *("", "x" * 10_000, "\ud800", "edge:", "tracks//", "tracks/main/", "1" * 10_000, "\u0662"),
        *([], {}, [[]], ["edge:town"] * 3, {"edge:town": 1}),
    ]
    refusals = 0
    for name in list(TAKES)[2 :: amount(8, long=1)]:
        for key in ("shape", "at", "name", *LABELS, "length_mm", "radius_mm", "none"):
            for value in values:
                try:
                    set_on(LINE, {"shape": name, "at": "edge:town", key: value})
                except Refused as refused:
                    refusals += 1
                    assert len(refused.message) < 400, refused.message
                    assert refused.fix.endswith(".")
    assert refusals > 300


def test_one_line_of_a_double_line_does_not_go_on_alone() -> None:
    plan = laid("plain-line:lines=2")
    with pytest.raises(Refused, match="Trains run one way only on down-line-1"):
        set_on(plan, {"shape": "siding", "at": "edge:west-down"})
    with pytest.raises(Refused, match="Trains run the same way"):
        plan["tracks"]["up-line-2"]["running"] = "down"
        set_on(plan, {"shape": "siding", "at": ["edge:east-down", "edge:east-up"]})


# --- offers


def test_each_offer_at_each_free_end_of_the_examples_is_laid() -> None:
    """The shapes take turns at the ends; a long run tries each at each."""
    tried: Counter[str] = Counter()
    turn = 0
    for path in sorted(EXAMPLES.glob("*.layout.json")):
        text = path.read_text("utf-8")
        layout = check(text).layout
        assert layout is not None
        for track in layout.tracks.values():
            for end in ("up", "down"):
                can = [
                    offer
                    for offer in offers(layout, f"tracks/{track.id}/{end}")
                    if offer.step["do"] == "lay-shape"
                ]
                free = track.end(end).kind in ("buffer", "edge")  # type: ignore[arg-type]  # an end
                assert len(can) in ((14, 0) if track.running != "both" else (14 if free else 0,))
                turn += bool(can)
                for offer in can if is_long() else can[turn % 14 :][:1]:
                    tried[str(offer.step["shape"])] += 1
                    lay(text, [offer.pressed()])
    assert tried.keys() == TAKES.keys() - {"round-and-round", "balloon-loop"}


def test_a_plan_can_begin_with_each_shape() -> None:
    from trappoint.laying.draft import Draft

    can = [each for each in offers(Draft().layout(), "plan") if each.step["do"] == "lay-shape"]
    assert [each.step["shape"] for each in can] == list(TAKES)
    for offer in can:
        plan = json.loads(lay(None, [offer.pressed()]).text)
        name = str(offer.step["shape"])
        assert plan["tracks"] == laid(name)["tracks"], "as `trappoint new` lays it"


def test_the_list_of_shapes_says_what_a_step_takes() -> None:
    listed = shapes_as_data()
    assert json.loads(json.dumps(listed)) == listed
    assert [each["shape"] for each in listed] == list(TAKES)
    assert {key for each in listed for key in each} == {
        "shape", "called", "told", "ends", "closed", "options",
    }  # fmt: skip
    for each in listed:
        usual = {option["key"]: option["usual"] for option in each["options"]}
        lay(None, [{"do": "lay-shape", "shape": each["shape"], **usual}])
        assert all(option["label"] and option["told"] for option in each["options"])


# --- random plans


def random_steps(rng: random.Random) -> tuple[str, list[dict[str, Any]]]:
    """Return a plan of shapes set on at random free ends, and the steps."""
    text, steps = None, []
    names = [name for name in TAKES if name != "round-and-round"]
    for number in range(rng.randint(2, 4)):
        name = rng.choice([each for each in names if number or each not in AT_THE_END])
        asked = options(rng, name, 3)
        for word in ("length", "radius"):
            if word in asked:
                asked[f"{word}_mm"] = asked.pop(word)
        step = {"do": "lay-shape", "shape": name, **asked}
        if text is not None:
            layout = check(text).layout
            assert layout is not None
            can = [
                offer.step["at"]
                for track in layout.tracks.values()
                if track.stand is not False
                for end in ("up", "down")
                for offer in offers(layout, f"tracks/{track.id}/{end}")
                if offer.step.get("shape") == "siding"
            ]
            if not can:
                break
            step["at"] = rng.choice(can)
        text = lay(text, [step]).text
        steps.append(step)
    assert text is not None
    return text, steps


def test_random_shapes_at_random_ends() -> None:
    met: Counter[str] = Counter()
    for seed in range(amount(12, long=300)):
        text, steps = random_steps(random.Random(seed))
        report = check(text)
        met.update(str(step["shape"]) for step in steps)
        may = MENDED_BY_SIGNALS | {"reversing-loop"}
        assert {finding.rule for finding in report.findings} <= may, steps
        turns = any(step["shape"] in TURNING for step in steps)
        assert turns or "reversing-loop" not in {finding.rule for finding in report.findings}
        if seed < amount(4, long=100):
            drawn(json.loads(text))
    assert len(met) >= amount(10, long=15)


@pytest.mark.skipif(importlib.util.find_spec("highspy") is None, reason="no solver")
def test_random_shapes_at_random_ends_hold_once_they_are_signalled() -> None:
    from trappoint.proposing.proposal import propose

    searched = 0
    for seed in range(amount(4, long=60)):
        text, steps = random_steps(random.Random(seed + 1000))
        plan = propose(text).drafts[0].text
        report = check(plan)
        assert report.holds is True, steps
        warned = {finding.rule for finding in report.findings if finding.level != "note"}
        assert warned <= {"platform-without-home", "stands-not-parted"}, steps
        if len(json.loads(plan)["tracks"]) < 16:
            searched += 1
            assert holds(json.loads(plan)), steps
    assert searched


def test_every_option_has_its_label() -> None:
    assert set(LABELS) == {word for shape in SHAPES.values() for word in shape.takes}
