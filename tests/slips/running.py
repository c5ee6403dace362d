"""Making slips in many plans, and counting what became of them."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from slips.dressing import dressed_line, dressed_station
from slips.judging import Base, Outcome, base_of, judge, said_of
from slips.kinds import Slip
from slips.sites import KINDS

EXAMPLES = Path(__file__).parents[2] / "examples"
VERDICTS = ("caught", "right", "missed", "false")


class Result(NamedTuple):
    """One slip of a kind in a plan, and what became of it."""

    plan: str
    kind: str
    slip: Slip
    outcome: Outcome


def examples() -> Iterator[Base]:
    for path in sorted(EXAMPLES.glob("*.layout.json")):
        yield base_of(path.name.removesuffix(".layout.json"), json.loads(path.read_text("utf-8")))


def generated(first: int, seeds: int) -> Iterator[Base]:
    """A line and a station of each seed, where that leads to one."""
    for seed in range(first, first + seeds):
        for kind, dressed in (("line", dressed_line), ("station", dressed_station)):
            plan = dressed(seed)
            if plan is not None:
                yield base_of(f"{kind} {seed}", plan)


def results(base: Base, most: int) -> Iterator[Result]:
    """The outcome of so many slips of each kind, drawn from all that the plan can suffer."""
    for kind, sites in KINDS.items():
        found = list(sites(base.plan))
        rng = random.Random(f"{base.name}: {kind}")
        for slip in rng.sample(found, min(len(found), most)):
            outcome = judge(base, kind, slip, said_of(slip))
            if outcome is not None:
                yield Result(base.name, kind, slip, outcome)
