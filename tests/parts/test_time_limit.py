"""Large stores: wishes minimised together or one by one, and a time limit on the search."""

from __future__ import annotations

import json
from random import Random

import pytest

from parts import bench
from trappoint.parts import integer_programme
from trappoint.parts.money import RATE_UNIT
from trappoint.parts.parts_model import BenchModel, PartsCase
from trappoint.parts.planning import plan_parts
from trappoint.parts.store_reading import read_store
from trappoint.parts.telling import sections_of

pytest.importorskip("highspy")


@pytest.mark.parametrize("seed", [6, 9, 2])
def test_wishes_sought_together_come_out_as_one_after_another(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    random = Random(seed)
    store = read_store(json.dumps(bench.large_store(random)), "large").store
    needs = bench.many_needs(random)
    assert store is not None
    together = BenchModel(PartsCase(store, needs)).solve()
    monkeypatch.setattr(integer_programme, "MAX_COEFFICIENT", 0)
    apart = BenchModel(PartsCase(store, needs)).solve()
    assert together is not None and apart is not None
    assert together.least == apart.least


@pytest.mark.parametrize("seconds", [0.05, 0.2, 0.5, 60.0])
def test_a_search_that_is_stopped_does_not_claim_too_much(seconds: float) -> None:
    random = Random(3)
    store = read_store(json.dumps(bench.large_store(random)), "large").store
    needs = bench.many_needs(random)
    assert store is not None
    answer = plan_parts(store, needs, seconds=seconds)
    best = 6458 * RATE_UNIT  # found without a limit
    if answer.scheme is None:
        assert answer.too_late
        return
    assert answer.scheme.counted >= best
    if answer.scheme.proven:
        assert answer.scheme.counted == best and answer.scheme.gap is None
    elif answer.scheme.gap is not None and answer.scheme.gap.at_best is not None:
        assert answer.scheme.gap.what != "money" or answer.scheme.gap.at_best <= best


def test_no_time_at_all_is_said_to_be_too_little() -> None:
    random = Random(3)
    store = read_store(json.dumps(bench.large_store(random)), "large").store
    assert store is not None
    answer = plan_parts(store, bench.many_needs(random), seconds=1e-9)
    assert answer.too_late and answer.scheme is None and not answer.undecided
    headings = {section.heading for section in sections_of(answer, store)}
    assert headings == {"Needed", "No way found in time"}
