"""Orders pull the levers in an order that the frame allows; worked on the frame itself."""

from __future__ import annotations

import json
import random
from typing import Any

from amount import amount
from frame.working import moved
from oracle.ground import Ground
from road.test_against_search import facts_of
from slips.dressing import dressed_line, dressed_station
from trappoint import load
from trappoint.checking.frame import frame_table
from trappoint.lever_frame.frame import FrameTable
from trappoint.lever_frame.simulator import FrameSimulator
from trappoint.operation.road import Asked, set_road

NEVER = "stays normal"


def works_of(order: Any) -> list[Any]:
    works = [w for stage in order["stages"] for w in (*stage["do"], *stage["after"])]
    return [*works, *order["restore"]]


def pull(table: FrameTable, order: Any) -> int:
    """Work the levers of an order; return the number that moved. All must be normal in the end."""
    frame = FrameSimulator((lever.number for lever in table.levers), table.entries)
    state: frozenset[str] = frozenset()
    count = 0
    for work in works_of(order):
        if "lever" in work:
            assert (work["lever"] not in state) is work["pull"]
            state = moved(frame, state, work["lever"])
            count += 1
    assert not state
    return count


def test_every_order_can_be_worked_on_the_frame() -> None:
    pulled = refused = 0
    for seed in range(amount(16, long=1000)):
        plan = (dressed_line, dressed_station)[seed % 2](seed)
        if plan is None or not plan.get("levers"):
            continue
        facts, table = facts_of(plan), frame_table(load(json.dumps(plan)))
        never = {entry.lever for entry in table.entries if entry.relation == NEVER}
        stands = list(Ground(plan).stands)
        rng = random.Random(seed)
        for _ in range(6):
            for order in set_road(facts, Asked(*rng.sample(stands, 2))).to_json()["orders"]:
                if any("refused" in work for work in works_of(order)):
                    # The frame may refuse only a lever that it always locks.
                    assert never & {work.get("lever") for work in works_of(order)}, seed
                    refused += 1
                else:
                    pulled += pull(table, order)
    assert pulled > 60
    assert refused < pulled / 10
