"""The order of work against the two-train search, which shares no code with the library.

At every step the search runs the plan with only the fitted signals. If trains keep to the barred
exits, no two meet; if an exit is barred and they use it, two can meet.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

from amount import amount
from large.railway import railway
from oracle import two_trains
from oracle.features import ALL, features
from oracle.ground import Ground
from oracle.plans import random_plan
from trappoint.checking.check import check_content
from trappoint.fitting import order
from trappoint.fitting.order import OpenExit, WorkOrder, order_of_work
from trappoint.model.settings import DEFAULTS
from trappoint.reporting.fitting_words import tell_stage

PLANS = amount(16, long=1000)
EXAMPLES = Path(__file__).parents[2] / "examples"


def keeping(barred: Iterable[OpenExit]) -> type[Ground]:
    """Return a ground on which no train uses a barred exit."""
    closed = {(exit_.stand, exit_.running or "") for exit_ in barred}

    class Barred(Ground):
        def __init__(self, plan: Any) -> None:
            super().__init__(plan)
            spots = {(place, h) for place, headings in self.stands.items() for h in headings}
            spots |= {spot for _, spot in self.come_on}
            shut = {spot for spot in spots if (_id_of(spot[0]), spot[1]) in closed}
            self.come_on = tuple(each for each in self.come_on if each[1] not in shut)
            self.stands = {
                place: tuple(h for h in headings if (place, h) not in shut)
                for place, headings in self.stands.items()
            }
            self.ways_out = {
                spot: tuple(way for way in ways if way.signal is not None or spot not in shut)
                for spot, ways in self.ways_out.items()
            }

    return Barred


def _id_of(place: str) -> str:
    """Return the id of the track or the yard of a place."""
    return place.partition(":")[2] or place.partition(".")[0]


def order_for(plan: dict[str, Any]) -> WorkOrder:
    report = check_content(json.dumps(plan), "plan")
    assert report.layout is not None
    return order_of_work(report.layout, DEFAULTS)


def assert_safe_at_each_step(
    plan: dict[str, Any], work: WorkOrder, monkeypatch: pytest.MonkeyPatch
) -> Counter[str]:
    seen: Counter[str] = Counter()
    steps = [((), work.barred)]
    fitted: list[str] = []
    for stage in work.stages:
        fitted.append(stage.signal)
        steps.append((tuple(fitted), stage.barred))
    for names, barred in steps:
        part = {**plan, "signals": {id_: plan["signals"][id_] for id_ in names}}
        monkeypatch.setattr(two_trains, "Ground", Ground)
        assert (two_trains.meeting(part) is not None) is bool(barred), (names, barred)
        monkeypatch.setattr(two_trains, "Ground", keeping(barred))
        assert two_trains.meeting(part) is None, (names, barred)
        seen["barred" if barred else "free"] += 1
    return seen


def test_random_plans_are_safe_at_each_step(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: Counter[str] = Counter()
    kinds: set[str] = set()
    for seed in range(PLANS):
        plan = random_plan(random.Random(seed), flaws=0)
        plan.setdefault("signals", {})
        kinds |= features(plan)
        work = order_for(plan)
        assert sorted(stage.signal for stage in work.stages) == sorted(plan["signals"])
        seen += assert_safe_at_each_step(plan, work, monkeypatch)
    assert min(seen["barred"], seen["free"]) > PLANS // 2
    assert kinds >= ALL - {"back-to-back heads"}  # only flaws make these


@pytest.mark.parametrize("name", ["kelpie-quay", "pixie-ring", "boggart-bridge"])
def test_examples_are_safe_at_each_step(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    plan = json.loads((EXAMPLES / f"{name}.layout.json").read_text("utf-8"))
    work = order_for(plan)
    assert work.barred and not work.stages[-1].barred
    assert_safe_at_each_step(plan, work, monkeypatch)


def test_signals_that_hold_come_before_those_that_advise() -> None:
    plan = json.loads((EXAMPLES / "selkie-harbour.layout.json").read_text("utf-8"))
    work = order_for(plan)
    holds = [stage.holds for stage in work.stages]
    assert holds == sorted(holds, reverse=True) and not holds[-1]
    counts = [len(work.barred), *(len(stage.barred) for stage in work.stages)]
    assert counts == sorted(counts, reverse=True) and counts[-1] == 0


def test_the_order_is_looked_for_in_large_plans_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """Signal by signal without trying them all, it is near the best order, and as safe."""
    for name in ("kelpie-quay", "boggart-bridge"):
        plan = json.loads((EXAMPLES / f"{name}.layout.json").read_text("utf-8"))
        tried = order_for(plan)
        with monkeypatch.context() as large:
            large.setattr(order, "MAX_SIGNALS", 0)
            work = order_for(plan)
            assert work.decided and not work.stages[-1].barred
            assert_safe_at_each_step(plan, work, large)
        assert open_exits(tried) <= open_exits(work) <= 1.2 * open_exits(tried)


def test_a_railway_of_more_than_a_hundred_signals_has_an_order() -> None:
    plan = railway(46)
    assert len(plan["signals"]) > order.MAX_SIGNALS
    work = order_for(plan)
    assert work.barred and all(stage.decided for stage in work.stages)
    assert not work.stages[-1].barred
    report = check_content(json.dumps(plan), "plan")
    assert report.layout is not None
    layout = report.layout
    holding = [name for name, one in layout.signals.items() if any(h.holds for h in one.heads)]
    sooner = as_written = 0
    for count in range(10, len(holding), 20):
        sooner += len(work.stages[count - 1].barred)
        as_written += len(order._state(layout, DEFAULTS, holding[:count]).barred)
    assert sooner < 0.85 * as_written


def test_very_large_plans_have_a_verdict_for_some_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(order, "MAX_SIGNALS", 3)
    monkeypatch.setattr(order, "MAX_WORK", 120)
    work = order_for(json.loads((EXAMPLES / "selkie-harbour.layout.json").read_text("utf-8")))
    decided = [stage.decided for stage in work.stages if stage.holds]
    assert work.decided and decided[-1] and {True, False} == set(decided)
    assert len(work.stages) == 17 and not work.stages[-1].holds
    vague = next(stage for stage in work.stages if not stage.decided)
    assert tell_stage(vague).endswith(", and perhaps more.")


def open_exits(work: WorkOrder) -> int:
    """Return the number of barred exits of all steps together."""
    return len(work.barred) + sum(len(stage.barred) for stage in work.stages if stage.holds)
