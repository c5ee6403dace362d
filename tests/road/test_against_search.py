"""Every road replays in an independent railway, and none is longer than necessary.

The two-train search (``tests/oracle``) and the meaning of arms (``tests/slips``) are written from
the definitions alone; ``road.brute`` finds the shortest roads and fewest moves by trying all.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from amount import amount
from dimensions.back import with_lengths
from oracle.features import ALL, features
from oracle.ground import Ground
from oracle.plans import large_plan, random_plan
from road.brute import Walker, least, shortest
from road.railway import Railway, replay
from slips.dressing import dressed_line, dressed_station
from trappoint.checking.check import check_content
from trappoint.facts.facts import Facts
from trappoint.operation.road import Asked, Road, set_road

EXAMPLES = [
    path
    for path in sorted((Path(__file__).parents[2] / "examples").glob("*.layout.json"))
    if "boards" not in json.loads(path.read_bytes())
]


def facts_of(plan: Any) -> Facts:
    facts = check_content(json.dumps(plan), "plan").facts
    assert facts is not None
    return facts


def worked(plan: Any, road: Road, trains: dict[str, str]) -> list[Any]:
    """Work all orders of a road by hand, and replay its steps; return the cost of each order."""
    told = road.to_json()
    railway = Railway(plan, trains)
    done = [railway.work(order) for order in told["orders"]]
    ends = replay(plan, trains, told["steps"])
    assert ends == {name: each[0].place for name, each in railway.trains.items()}
    for order, took in zip(road.orders, done, strict=True):
        assert (order.stops, order.places) == (took.stops, took.places)
    return done


def try_roads(plan: Any, rng: random.Random, pairs: int) -> int:
    """Ask for roads between stands, some with a train elsewhere; return how many are free."""
    facts, walker = facts_of(plan), Walker(plan)
    stands = list(Ground(plan).stands)
    found = 0
    for _ in range(pairs):
        if len(stands) < 2:
            break
        start, goal, *more = rng.sample(stands, min(3, len(stands)))
        others = more if rng.random() < 0.4 else []
        road = set_road(facts, Asked(start, goal, standing=tuple(others)))
        cost = shortest(walker, start, goal, set(others))
        assert (road.outcome == "free") is (cost is not None), (start, goal, others)
        if cost is not None:
            (took,) = worked(plan, road, {"the train": start} | named(others))
            assert took == cost, (start, goal, others)
            found += 1
    return found


def named(others: list[str]) -> dict[str, str]:
    return {f"the train in {place}": place for place in others}


def test_every_kind_of_element_is_in_the_random_plans() -> None:
    seen = Counter(
        kind for seed in range(100) for kind in features(random_plan(random.Random(seed)))
    )
    assert {kind for kind in ALL if seen[kind] < 15} == set()


@pytest.mark.parametrize("batch", range(amount(1, long=40)))
def test_random_plans(batch: int) -> None:
    found = 0
    for seed in range(batch * 60, batch * 60 + 60):
        rng = random.Random(seed)
        found += try_roads(random_plan(rng), rng, 5)
    assert found > 80


def test_dressed_plans() -> None:
    """Plans in the shape of real layouts, with ``to``, distants, levers and shunt signals."""
    found = 0
    for seed in range(amount(14, long=1000)):
        plan = (dressed_line, dressed_station)[seed % 2](seed)
        if plan is not None:
            found += try_roads(plan, random.Random(seed), 8)
    assert found > 28


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples(path: Path) -> None:
    plan = json.loads(path.read_text("utf-8"))
    assert try_roads(plan, random.Random(1), 25) > 5


def test_the_fewest_trains_move() -> None:
    outcomes: dict[str, int] = {}
    for seed in range(amount(120, long=3000)):
        rng = random.Random(seed)
        plan = random_plan(rng, elements=(1, 4), flaws=0)
        stands = list(Ground(plan).stands)
        if not 3 <= len(stands) <= 8:
            continue
        start, goal, *others = rng.sample(stands, min(len(stands), rng.choice((3, 3, 4))))
        others = [goal, *others[: rng.choice((0, 1))]] if rng.random() < 0.7 else others[:2]
        if len(stands) > 6:
            others = others[:1]
        road = set_road(facts_of(plan), Asked(start, goal, standing=tuple(others)))
        best = least(Walker(plan), start, goal, tuple(others))
        outcomes[road.outcome] = outcomes.get(road.outcome, 0) + 1
        assert road.decided
        assert (best is None) is (road.outcome in ("no-road", "locked-up")), seed
        if best is None:
            continue
        done = worked(plan, road, {"the train": start} | named(others))
        assert len(road.first) == best.trains, seed
        took = tuple(map(sum, zip(*done, strict=True)))
        assert (len(done), *took) == best.rank, seed
    assert min(outcomes.get(each, 0) for each in ("free", "clear-first", "locked-up")) > 3


def test_trains_come_to_rest_only_where_they_fit() -> None:
    """Against trains placed as intervals in each place where they stop."""
    outcomes: dict[str, int] = {}
    for seed in range(amount(50, long=2000)):
        rng = random.Random(seed)
        plan = large_plan(rng, 12, flaws=0) if seed % 2 else random_plan(rng, flaws=0)
        with_lengths(rng, plan)
        length = rng.randrange(50, 1600, 10)
        plan["trains"] = {"t": {"length_mm": length}}
        stands = list(Ground(plan).stands)
        starts = [place for place in stands if "." not in place and ":" not in place]
        if not starts or len(stands) < 2:
            continue
        start = rng.choice(starts)
        plan["scenes"] = {"s": {"trains": {start: "t"}}}
        facts, walker = facts_of(plan), Walker(plan, lengths=True)
        for goal in rng.sample(stands, min(4, len(stands))):
            if goal == start:
                continue
            road = set_road(facts, Asked(start, goal, scene="s"))
            cost = shortest(walker, start, goal, set(), length)
            of_any = shortest(walker, start, goal, set())
            wanted = "free" if cost else "too-long" if of_any else "no-road"
            assert road.outcome == wanted, (seed, start, goal)
            if cost is not None:
                assert worked(plan, road, {"t": start}) == [cost], (seed, start, goal)
                wanted = "free" if cost == of_any else "another"
            if road.too_long is not None:
                place = road.too_long.place
                headings = walker.ground.sections[place].headings
                assert not all(walker.fits((place, each), length) for each in headings)
            outcomes[wanted] = outcomes.get(wanted, 0) + 1
    assert min(outcomes.get(each, 0) for each in ("free", "too-long", "no-road", "another")) > 2


def test_a_search_that_reaches_its_limit_says_so() -> None:
    """With a lower and lower limit, the answer stays the same or becomes unknown."""
    plan = json.loads((EXAMPLES[0].parent / "kelpie-quay.layout.json").read_text("utf-8"))
    facts = facts_of(plan)
    asked = Asked("town-line", "A", standing=("main", "quarry-line"))
    whole = set_road(facts, asked)
    assert (whole.outcome, whole.decided) == ("clear-first", True)
    outcomes = set()
    for steps in range(0, 400, 3):
        road = set_road(facts, asked, most_steps=steps)
        outcomes.add(road.outcome)
        if road.outcome == "given-up":
            assert not road.decided
            assert not road.orders
        elif road.decided:
            assert road.orders == whole.orders
    assert outcomes == {"given-up", "clear-first"}
