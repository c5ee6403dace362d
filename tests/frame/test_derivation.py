"""The entries of a frame are equivalent to the locking table, and none is redundant."""

from __future__ import annotations

import json
import random
from collections import Counter

import pytest

from amount import amount
from frame.definition import Definition
from frame.plans import Plan
from frame.random_frames import points_levers, random_frame
from frame.working import all_states, behaviour, reached, simulate
from oracle.plans import large_plan
from trappoint import load
from trappoint.checking.frame import frame_table
from trappoint.lever_frame.frame import FrameTable

BATCH = 40


def derive(plan: Plan, *, interlock_points: bool = False) -> FrameTable:
    return frame_table(load(json.dumps(plan)), interlock_points=interlock_points)


def frames(batch: int) -> list[tuple[int, Plan]]:
    seeds = range(batch * BATCH, (batch + 1) * BATCH)
    drawn = [(seed, random_frame(random.Random(seed))) for seed in seeds]
    return [(seed, plan) for seed, plan in drawn if plan is not None]


@pytest.mark.parametrize("batch", range(amount(1, long=20)))
def test_states_and_moves_are_those_of_the_locking_table(batch: int) -> None:
    """Every one of 2^n states, and every lever in each, against the definition."""
    kinds: Counter[str] = Counter()
    for seed, plan in frames(batch):
        defined = Definition(plan)
        table = derive(plan)
        frame = simulate(table)
        for state in all_states(frame.levers):
            legal = defined.legal(state)
            assert frame.legal(state) is legal, (seed, state)
            for lever in frame.levers if legal else ():
                free = frame.may_move(state, lever).free
                assert free is defined.may_move(state, lever), (seed, state, lever)
        kinds.update(entry.relation for entry in table.entries)
        kinds["conditional"] += sum(bool(entry.when) for entry in table.entries)
    assert min(kinds[k] for k in ("released by", "locks", "locks both ways", "conditional")) > 5


@pytest.mark.parametrize("batch", range(amount(1, long=2)))
def test_no_entry_follows_from_the_others(batch: int) -> None:
    tried = 0
    for seed, plan in frames(batch):
        for interlock in (False, True):
            table = derive(plan, interlock_points=interlock)
            if len(table.levers) > 7:
                continue
            whole = behaviour(simulate(table))
            for entry in table.entries:
                rest = [other for other in table.entries if other != entry]
                assert behaviour(simulate(table, rest)) != whole, (seed, entry.text)
                tried += 1
    assert tried > 50


def off(plan: Plan, states: set[frozenset[str]]) -> set[frozenset[str]]:
    """The levers of arms that are reversed together."""
    arms = {number for number, lever in plan["levers"].items() if "arms" in lever}
    return {state & arms for state in states}


INTERLOCKED = (52, 74, 175, 233, 242, 254, 330, 417, 422, 461)


@pytest.mark.parametrize("seed", INTERLOCKED[: amount(5, long=10)])
def test_locking_among_points_hinders_nothing(seed: int) -> None:
    """Test that locking between points excludes no combination of arms.

    These seeds give frames with locking between points.
    """
    plan = random_frame(random.Random(seed), 11)
    assert plan is not None
    free, locked = derive(plan), derive(plan, interlock_points=True)
    assert set(free.entries) != set(locked.entries)
    without, within = behaviour(simulate(free)), behaviour(simulate(locked))
    assert within.keys() < without.keys()
    assert off(plan, reached(within)) == off(plan, reached(without))


@pytest.mark.parametrize("seed", range(3))
def test_large_frames_by_walking_through_them(seed: int) -> None:
    """Frames too large for all their states: random walks, each state against the definition."""
    rng = random.Random(seed)
    plan = large_plan(rng, 14, 0)
    works = points_levers(plan)
    works += [{"arms": [a["id"]]} for s in plan["signals"].values() for a in s["arms"]]
    rng.shuffle(works)
    plan["levers"] = {str(number): lever for number, lever in enumerate(works, 1)}
    assert len(works) >= 40
    defined, frame = Definition(plan), simulate(derive(plan))
    state: frozenset[str] = frozenset()
    most = 0
    for _ in range(60):
        tried = rng.sample(frame.levers, 12)
        free = [lever for lever in tried if frame.may_move(state, lever).free]
        assert free == [lever for lever in tried if defined.may_move(state, lever)], sorted(state)
        pulled = [lever for lever in free if lever not in state] or free
        state ^= set(rng.sample(pulled, 1)) if pulled else set()
        assert defined.legal(state)
        most = max(most, len(state))
    assert most > 8


def test_a_large_frame_is_not_enumerated() -> None:
    """More than 100 levers: an enumeration of their states would never end."""
    plan = large_plan(random.Random(2), 40, 0)
    works = points_levers(plan)
    works += [{"arms": [a["id"]]} for s in plan["signals"].values() for a in s["arms"]]
    plan["levers"] = {str(number): lever for number, lever in enumerate(works, 1)}
    table = derive(plan, interlock_points=True)
    assert len(table.levers) > 100
    assert len(table.entries) > 200
