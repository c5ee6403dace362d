"""The check's verdict and the two-train search agree on every plan, and shown movements replay.

The search (``tests/oracle``) is written from the definitions alone and shares no code with the
library. That two trains are enough to find a collision: James and others, Science of Computer
Programming, 2014.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from oracle.plans import random_plan
from oracle.two_trains import meeting, replay, routes_of
from trappoint.checking import Report, check_content

EXAMPLES = [
    path
    for path in sorted((Path(__file__).parents[2] / "examples").rglob("*.layout.json"))
    # A plan that can not be understood has no verdict to compare.
    if check_content(path.read_bytes(), path.name).facts is not None
]

BATCH = 500
BATCHES = range(8)  # 4,000 plans in every run


def checked(plan: dict[str, Any], name: str) -> Report:
    report = check_content(json.dumps(plan), name)
    assert report.fault is None, report.findings
    return report


def assert_agrees(plan: dict[str, Any], name: str) -> Report:
    report = checked(plan, name)
    found = meeting(plan)
    assert report.holds is (found is None), name
    movements = 0
    for finding in report.findings:
        if finding.rule == "unheld-exit":
            assert (finding.movement is not None) is (finding.level == "error"), name
        if finding.movement is not None:
            replay(plan, finding.movement.to_json())
            movements += 1
    assert bool(movements) is (report.holds is False), name
    return report


@pytest.mark.parametrize("batch", BATCHES)
def test_random_plans(batch: int) -> None:
    verdicts: Counter[bool | None] = Counter()
    for seed in range(batch * BATCH, (batch + 1) * BATCH):
        plan = random_plan(random.Random(seed))
        verdicts[assert_agrees(plan, f"seed {seed}").holds] += 1
    # Both verdicts are put to the test, each often.
    assert verdicts[True] > BATCH // 5
    assert verdicts[False] > BATCH // 5
    assert set(verdicts) == {True, False}


def test_larger_random_plans() -> None:
    for seed in range(100):
        assert_agrees(random_plan(random.Random(seed), elements=(7, 12)), f"seed {seed}")


def test_there_are_examples_of_both_kinds() -> None:
    verdicts = [check_content(path.read_bytes(), path.name).holds for path in EXAMPLES]
    assert verdicts.count(True) >= 10
    assert verdicts.count(False) >= 5


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples(path: Path) -> None:
    text = path.read_text("utf-8")
    if check_content(text, path.name).facts is None:
        pytest.skip("a plan that can not be understood has no verdict")
    assert_agrees(json.loads(text), path.name)


@pytest.mark.parametrize("seed", range(0, 4000, 10))
def test_routes_are_the_same(seed: int) -> None:
    plan = random_plan(random.Random(seed))
    facts = checked(plan, f"seed {seed}").facts
    assert facts is not None
    ours: dict[str, list[list[str]]] = {signal: [] for signal in plan["signals"]}
    for route in facts.routes.all:
        places = [facts.network.place(state).name for state in route.path]
        ours[facts.network.heads[route.head].signal].append(places)
    theirs = routes_of(plan)
    for signal, value in plan["signals"].items():
        if any(not _runs(plan, value, arm) for arm in value["arms"]):
            continue  # A signal for trains that may not run there: the library gives it no route.
        assert sorted(ours[signal]) == sorted(list(route) for route in theirs.get(signal, []))


def _runs(plan: dict[str, Any], signal: dict[str, Any], arm: dict[str, Any]) -> bool:
    track = plan["tracks"][arm.get("track", signal["track"])]
    return track.get("running", "both") in ("both", arm.get("for", signal["for"]))


def deceiving() -> dict[str, Any]:
    """A plan that passes where only trains setting off from other stands are looked at."""
    return {
        "format": "trappoint-layout/1",
        "tracks": {
            "west": {"up": "edge:west", "down": "joint:j1"},
            "s": {"up": "joint:j1", "down": "p.toe", "stand": True},
            "z": {"up": "p.left", "down": "joint:j2"},
            "east": {"up": "joint:j2", "down": "edge:east"},
            "q": {"up": "p.right", "down": "joint:j3"},
            "q2": {"up": "joint:j3", "down": "edge:south"},
        },
        "points": {"p": {"normal": "left"}},
        "signals": {
            name: {"track": track, "for": heading, "arms": [{"id": name}]}
            for name, track, heading in (
                ("W", "west", "down"),
                ("U", "s", "up"),
                ("Z", "z", "down"),
                ("E", "east", "up"),
                ("Qd", "q", "down"),
                ("Q", "q2", "up"),
            )
        },
    }


def test_a_train_that_waits_beyond_an_unheld_stand_is_seen() -> None:
    """A train held at Z has left s; one that comes to s from q2 sets off again and runs into it."""
    report = assert_agrees(deceiving(), "deceiving")
    assert report.holds is False
    assert [f.pointer for f in report.findings if f.rule == "unheld-exit"] == ["/tracks/s/down"]


def test_with_a_signal_on_the_stand_it_holds() -> None:
    plan = deceiving()
    plan["signals"]["S"] = {
        "track": "s",
        "for": "down",
        "arms": [{"id": "SL", "to": "z"}, {"id": "SR", "to": "q"}],
    }
    plan["signals"]["W"]["arms"] = [{"id": "W"}]
    assert assert_agrees(plan, "mended").holds is True
