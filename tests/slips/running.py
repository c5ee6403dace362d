"""Makes slips in many plans, and judges each."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from slips.dressing import dressed_line, dressed_station
from slips.judging import Base, Outcome, judge, said_of
from slips.kinds import Slip
from slips.meaning import Plan
from slips.sites import KINDS

EXAMPLES = Path(__file__).parents[2] / "examples"
NO_SLIP = "no slip at all"
"""The kind for a plan without a slip."""

VERDICTS = ("caught", "right", "missed", "false")


class Result(NamedTuple):
    """A slip of a kind in a plan, in words, and the judgement on it."""

    plan: str
    kind: str
    told: str
    outcome: Outcome


def examples() -> Iterator[tuple[str, Plan]]:
    for path in sorted(EXAMPLES.glob("*.layout.json")):
        yield path.name.removesuffix(".layout.json"), json.loads(path.read_text("utf-8"))


def generated(first: int, seeds: int) -> Iterator[tuple[str, Plan]]:
    """Yield a line and a station for each seed that leads to one."""
    for seed in range(first, first + seeds):
        for kind, dressed in (("line", dressed_line), ("station", dressed_station)):
            plan = dressed(seed)
            if plan is not None:
                yield f"{kind} {seed}", plan


def results(base: Base, as_it_is: Outcome, most: int) -> Iterator[Result]:
    """Draw at most ``most`` slips of each kind in a plan, and judge each."""
    yield Result(base.name, NO_SLIP, "as it is", as_it_is)
    for kind in KINDS:
        for slip in drawn(base.name, base.plan, kind, most):
            outcome = judge(base, kind, slip, said_of(slip))
            if outcome is not None:
                yield Result(base.name, kind, slip.told, outcome)


def drawn(name: str, plan: Plan, kind: str, most: int) -> list[Slip]:
    """Draw at most ``most`` slips of a kind, one at a time, to save memory."""
    rng = random.Random(f"{name}: {kind}")
    found: list[Slip] = []
    for number, slip in enumerate(KINDS[kind](plan)):
        if number < most:
            found.append(slip)
        elif (place := rng.randint(0, number)) < most:
            found[place] = slip
    return found
