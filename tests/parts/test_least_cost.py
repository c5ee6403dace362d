"""The least cost and the least work against brute force, on tiny random stores."""

from __future__ import annotations

import json
from random import Random
from typing import Any

import pytest

from amount import amount
from parts.brute import all_stocks, cents, cheapest, fewest_left_out, least_short
from parts.ledger import audit, work_through
from parts.random_stores import needs_of, open_ended, random_store, random_things
from trappoint.parts.planning import PartsPlan, Scheme, plan_parts
from trappoint.parts.rendering import to_json
from trappoint.parts.store import Store
from trappoint.parts.store_reading import read_store

pytest.importorskip("highspy")

CASES = amount(300, long=3000)


def _store(data: dict[str, Any]) -> Store:
    report = read_store(json.dumps(data), "random")
    assert report.store is not None, report.findings
    return report.store


def _cost(scheme: Scheme) -> tuple[int, int]:
    return sum(scheme.totals.values()), scheme.minutes


def _audit(answer: PartsPlan, store: Store, data: dict[str, Any]) -> None:
    told = to_json(answer, store)
    if told["scheme"] is not None:
        audit(told, told["scheme"], data)
        work_through(told["scheme"]["bench"], told["scheme"], data)
    if told["scheme_for_the_rest"] is not None:
        audit(told, told["scheme_for_the_rest"], data, told["leave_out"])


def _compare(seed: int, counts: dict[str, int]) -> None:
    random = Random(seed)
    data, things = random_store(random), random_things(random)
    store, needs, ways = _store(data), needs_of(things), all_stocks(data)
    answer = plan_parts(store, needs)
    _audit(answer, store, data)
    best = cheapest(data, ways, things)
    if best is not None:
        assert answer.scheme is not None
        assert answer.scheme.proven
        assert _cost(answer.scheme) == best
        counts["met"] += 1
        counts["made"] += bool(answer.scheme.steps)
        counts["ready"] += bool(answer.scheme.ready)
        whole = {key for key, part in data["parts"].items() if "as_signal" in part}
        counts["changed"] += any(whole & step.recipe.uses.keys() for step in answer.scheme.steps)
        limit = best[0] - 1
        if limit >= 0:
            _compare_poor(answer, limit, store, data, seed)
        return
    counts["short"] += 1
    assert answer.scheme is None
    assert sum(count for _, count in answer.short) == least_short(data, ways, things)
    assert answer.rest is not None
    assert (len(answer.drop), _cost(answer.rest)) == fewest_left_out(data, ways, things)


def _compare_poor(
    answer: PartsPlan, limit: int, store: Store, data: dict[str, Any], seed: int
) -> None:
    """With one hundredth too little, the money that is missing is one hundredth."""
    assert answer.scheme is not None
    poor = plan_parts(store, answer.needs, at_most=limit)
    assert poor.scheme is None
    assert poor.least_money == limit + 1
    assert poor.short == ()
    assert poor.rest is not None
    assert poor.drop
    _audit(poor, store, data)
    if seed % 5 == 0:
        things = random_things_again(seed)
        ways = [way for way in all_stocks(data) if way[0] <= limit]
        assert (len(poor.drop), _cost(poor.rest)) == fewest_left_out(data, ways, things)


def random_things_again(seed: int) -> list[Any]:
    random = Random(seed)
    random_store(random)
    return random_things(random)


def test_the_same_as_by_trying_everything() -> None:
    counts = {"met": 0, "made": 0, "short": 0, "ready": 0, "changed": 0}
    for seed in range(CASES):
        try:
            _compare(seed, counts)
        except AssertionError as error:
            raise AssertionError(f"seed {seed}") from error
    # The stores are such that all of this happens often.
    assert counts["met"] > CASES // 8
    assert counts["made"] > CASES // 40
    assert counts["short"] > CASES // 4
    assert counts["ready"] > CASES // 40
    assert counts["changed"] > CASES // 100


def test_stores_without_an_end_are_no_dearer_and_add_up() -> None:
    """Without ``stock`` and ``most`` nothing can get dearer; where the limits would not bind, the
    least is the same as by trying everything within wider limits."""
    compared = 0
    for seed in range(1000, 1150):
        random = Random(seed)
        limited, things = random_store(random), random_things(random)
        data = open_ended(limited)
        store, needs = _store(data), needs_of(things)
        answer = plan_parts(store, needs)
        _audit(answer, store, data)
        best = cheapest(limited, all_stocks(limited), things)
        if best is not None:
            assert answer.scheme is not None, seed
            assert _cost(answer.scheme) <= best, seed
        if answer.scheme is None or answer.undecided:
            continue
        within = all(
            count <= limited["shops"][order.shop.id]["offers"][offer.id]["stock"]
            for order in answer.scheme.orders
            for offer, count in order.packs
        ) and all(
            sum(s.times for s in answer.scheme.steps if s.recipe.id == key) <= recipe["most"]
            for key, recipe in limited["recipes"].items()
        )
        if within:
            assert best == _cost(answer.scheme), seed
            compared += 1
    assert compared > 20


def test_money_is_whole_hundredths() -> None:
    # 0.1 + 0.2 is not 0.3 in binary fractions (IEEE 754); thirty times 0.10 is 3.00.
    assert cents("0.1") * 30 == cents("3")
    data = {
        "format": "trappoint-store/1", "currency": "GBP",
        "parts": {"a": {"as_mount": {"mounts": ["post"]}}},
        "shops": {"s": {"offers": {"o": {"contains": {"a": 1}, "price": "0.1"}}}},
    }  # fmt: skip
    needs = needs_of([(str(n), "mount:post", "disc", 1) for n in range(30)])
    answer = plan_parts(_store(data), needs, at_most=300)
    assert answer.scheme is not None
    assert answer.scheme.totals == {"GBP": 300}
    assert plan_parts(_store(data), needs, at_most=299).least_money == 300
