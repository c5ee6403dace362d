"""Test that every shape, with proposed signals, holds without warnings.

Each run tries 2 settings of each shape; a long run tries 200, with more roads.
"""

from __future__ import annotations

import importlib.util
import json
import random

import pytest

from amount import amount, is_long
from oracle.two_trains import holds
from shapes.asking import ALONG, TAKES, Plan, ask, ask_for_several, laid
from trappoint import check
from trappoint.proposing.proposal import propose
from trappoint.shapes.writing import write_plan

pytestmark = pytest.mark.skipif(
    importlib.util.find_spec("highspy") is None, reason="the solver is not installed"
)

SETTINGS = amount(2, long=200)
MAX_ROADS = amount(3, long=7)
LEVELS = ("least", "homes")
"""A run tries one after the other, a long run both at each setting."""

JOINED = {"platform-without-home", "stands-not-parted"}
"""Rules that may have findings at level ``least``: plain track is joined without a signal there."""


def signalled(*texts: str, level: str = "least") -> Plan:
    """Lay and signal shapes; assert that the plan holds without warnings, and return it."""
    before = laid(*texts)
    proposal = propose(write_plan(before), level=level)  # type: ignore[arg-type]
    text = proposal.drafts[0].text
    report = check(text)
    assert report.holds is True, texts
    said = {f.rule for f in report.findings if f.level != "note"}
    assert said <= (JOINED if level == "least" else set()), texts
    plan: Plan = json.loads(text)
    assert {key: value for key, value in plan.items() if key != "signals"} == before
    return plan


@pytest.mark.parametrize("name", TAKES)
def test_a_shape_holds_at_any_setting(name: str) -> None:
    texts = dict.fromkeys(ask(random.Random(seed), name, MAX_ROADS) for seed in range(SETTINGS))
    for number, text in enumerate(texts):
        for level in LEVELS if is_long() else LEVELS[number % 2 :][:1]:
            signalled(text, level=level)


@pytest.mark.parametrize("level", LEVELS)
def test_joined_shapes_hold(level: str) -> None:
    for seed in range(SETTINGS):
        signalled(*ask_for_several(random.Random(seed), most=3), level=level)


@pytest.mark.parametrize("name", list(TAKES)[:: amount(3, long=1)])
def test_a_shape_holds_with_full_signals(name: str) -> None:
    signalled(name, level="full")


def test_the_largest_terminus_holds() -> None:
    signalled("terminus:lines=2,roads=12,platforms=7")


SMALL = [
    *list(TAKES)[1 :: amount(2, long=1)],
    "through-station:lines=1,roads=3", "through-station:roads=2", "terminus:lines=2",
    "junction:lines=1", "ladder-yard:lines=2", "round-and-round:roads=1,hidden=2",
]  # fmt: skip


@pytest.mark.parametrize("text", SMALL)
def test_the_search_through_two_trains_agrees(text: str) -> None:
    plan = signalled(text)
    assert holds(plan)
    _hold_to_the_last(plan)


@pytest.mark.parametrize("text", ALONG[:: amount(3, long=1)])
def test_joined_to_a_terminus_the_search_agrees(text: str) -> None:
    assert holds(signalled("terminus:roads=2,platforms=1", text))


def _hold_to_the_last(plan: Plan) -> None:
    """Assert that every signal is needed: without it, trains can meet or the check has findings."""
    for name in plan.get("signals", {}):
        signals = {key: each for key, each in plan["signals"].items() if key != name}
        without = {**plan, "signals": signals}
        if holds(without):
            assert check(json.dumps(without)).findings, name


def test_shapes_are_joined_as_boards_too(tmp_path: object) -> None:
    """Each shape is a board with its own file; their edges match, and the whole holds."""
    from pathlib import Path

    folder = Path(str(tmp_path))
    for name, text in (
        ("town", "terminus"),
        ("loop", "passing-loop"),
        ("fork", "junction:lines=1"),
    ):
        plan = signalled(text)
        (folder / f"{name}.layout.json").write_text(json.dumps(plan), "utf-8")
    whole = {
        "format": "trappoint-layout/1",
        "tracks": {},
        "boards": {
            "town": {"plan": "town.layout.json", "reversed": True},
            "loop": {"plan": "loop.layout.json"},
            "fork": {"plan": "fork.layout.json"},
        },
        "joins": [{"a": "town:west", "b": "loop:west"}, {"a": "loop:east", "b": "fork:west"}],
    }
    path = folder / "whole.layout.json"
    path.write_text(json.dumps(whole), "utf-8")
    report = check(path)
    assert report.holds is True
    assert report.findings == ()
