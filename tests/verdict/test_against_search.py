"""The verdict of the check and the two-train search agree on every plan; all movements replay.

The search (``tests/oracle``) is written from the definitions alone and shares no code with the
library. That two trains are enough to find a collision: James and others, Science of Computer
Programming, 2014.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Callable
from functools import cache
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from amount import amount
from oracle.features import ALL, features
from oracle.ground import Ground
from oracle.plans import large_plan, random_plan
from oracle.stations import station_plan
from oracle.three_trains import meeting_of_three
from oracle.two_trains import conflicts_of, meeting, replay, routes_of
from trappoint.checking.check import check_content
from trappoint.checking.report import Report
from trappoint.facts.facts import Facts
from trappoint.interlocking.conflicts import routes_conflict

Draw = Callable[[random.Random], dict[str, Any]]

EXAMPLES = [
    path
    for path in sorted((Path(__file__).parents[2] / "examples").rglob("*.layout.json"))
    # A plan that cannot be understood has no verdict to compare.
    if check_content(path.read_bytes(), path.name).facts is not None
]

BATCH = 100
STARTS = range(0, amount(800, long=10_000), BATCH)
"""The number of plans of each kind: 1,600 plans together in every run."""
ENOUGH = 64
"""The least number of plans with each kind of element, for either verdict."""

ROUTES = amount(13, long=100)
"""The number of plans of each batch whose routes and conflicts are compared."""

MAX_PLACES = 8
"""The most places of a plan on which three trains are tried."""


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


def assert_same_routes(plan: dict[str, Any], facts: Facts) -> None:
    """Compare the routes of each signal, and whether and how each pair of routes conflicts."""
    named = []
    ours: dict[str, list[list[str]]] = {head.signal: [] for head in facts.network.heads}
    for route in facts.routes.all:
        places = [facts.network.place(state).name for state in route.path]
        signal = facts.network.heads[route.head].signal
        ours[signal].append(places)
        named.append((signal, "shunt" if route.shunting else "stop", tuple(places)))
    theirs = routes_of(plan)
    for signal, own in ours.items():
        assert sorted(own) == sorted(list(route) for route in theirs.get(signal, [])), signal
    conflicts = Counter(
        (
            *sorted((named[one], named[other])),
            routes_conflict(*map(facts.routes.all.__getitem__, (one, other))),
        )
        for one, other in combinations(range(len(named)), 2)
    )
    found = Counter((*sorted((tuple(a), tuple(b))), by) for a, b, by in conflicts_of(plan))
    assert conflicts == found


@cache
def agreeing(draw: Draw, start: int) -> Counter[tuple[str, bool]]:
    """Compare a batch of plans with the search; return the number with each feature, by verdict."""
    seen: Counter[tuple[str, bool]] = Counter()
    for seed in range(start, start + BATCH):
        plan = draw(random.Random(seed))
        report = assert_agrees(plan, f"{draw.__name__} {seed}")
        assert report.holds is not None
        assert report.facts is not None
        if seed % BATCH < ROUTES:
            assert_same_routes(plan, report.facts)
        seen.update((feature, report.holds) for feature in [*features(plan), "any plan"])
    return seen


@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize("draw", [random_plan, station_plan])
def test_random_plans_and_stations(draw: Draw, start: int) -> None:
    assert agreeing(draw, start).total() > 0


def test_both_verdicts_and_each_kind_of_element_are_put_to_the_test_often() -> None:
    for draw in (random_plan, station_plan):
        of_one = sum((agreeing(draw, start) for start in STARTS), Counter[tuple[str, bool]]())
        for holds in (True, False):
            assert of_one["any plan", holds] > BATCH * len(STARTS) * 3 // 10
    seen = sum(
        (agreeing(draw, start) for draw in (random_plan, station_plan) for start in STARTS),
        Counter[tuple[str, bool]](),
    )
    few = {(name, holds) for name in ALL for holds in (True, False) if seen[name, holds] < ENOUGH}
    assert not few


def test_larger_random_plans() -> None:
    for seed in range(amount(25, long=1000)):
        assert_agrees(random_plan(random.Random(seed), elements=(7, 12)), f"seed {seed}")


@pytest.mark.parametrize("batch", range(amount(2, long=20)))
def test_three_trains_come_to_the_same_verdict(batch: int) -> None:
    """A third train on small plans changes no verdict."""
    verdicts: Counter[bool | None] = Counter()
    seed = batch * 10_000
    while verdicts.total() < 100:
        seed += 1
        plan = random_plan(random.Random(seed), elements=(1, 2))
        if len({place for place, _ in Ground(plan).ways_out}) > MAX_PLACES:
            continue
        holds = checked(plan, f"seed {seed}").holds
        assert holds is (meeting_of_three(plan) is None), seed
        verdicts[holds] += 1
    assert min(verdicts[True], verdicts[False]) > 20


def test_a_verdict_is_found_for_every_plan_of_up_to_a_hundred_points() -> None:
    """The same with missing signals, where the check may have to search the game itself."""
    verdicts: Counter[bool | None] = Counter()
    for seed in range(12):
        plan = large_plan(random.Random(seed), points=20 + 6 * seed, flaws=seed % 4)
        verdicts[checked(plan, f"seed {seed}").holds] += 1
    assert verdicts[None] == 0
    assert verdicts[True]
    assert verdicts[False]


def test_there_are_examples_of_both_kinds() -> None:
    verdicts = [check_content(path.read_bytes(), path.name).holds for path in EXAMPLES]
    assert verdicts.count(True) >= 10
    assert verdicts.count(False) >= 5


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples(path: Path) -> None:
    text = path.read_text("utf-8")
    if check_content(text, path.name).facts is None:
        pytest.skip("a plan that cannot be understood has no verdict")
    assert_agrees(json.loads(text), path.name)


def deceiving() -> dict[str, Any]:
    """A plan that a test with trains from other stands only would pass wrongly."""
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
    """A train held at Z has left s; a train that comes to s from q2 runs into it."""
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
