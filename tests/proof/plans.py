"""The plans that are proved, and how many of them."""

from __future__ import annotations

import json
import os
import random
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import trappoint
from oracle.plans import large_plan, random_plan
from proof.printed import Printed
from proof.roads import Roads

Plan = dict[str, Any]
EXAMPLES = Path(__file__).parents[2] / "examples"
TIMES = int(os.environ.get("TRAPPOINT_PROOFS", "1"))
"""So many times as many plans: ``TRAPPOINT_PROOFS=20 pytest tests/proof`` for a long run."""


class Checked(NamedTuple):
    """A plan, the verdict of the check, and the table laid upon the plan."""

    plan: Plan
    holds: bool
    printed: Printed


def checked(text: str | Path) -> Checked | None:
    """What the library's public face says of a plan; None where it gives no verdict."""
    report = trappoint.check(text)
    assert report.fault is None
    if report.holds is None or report.table is None:
        return None
    plan = json.loads(text.read_text("utf-8") if isinstance(text, Path) else text)
    table = json.loads(json.dumps(report.table.to_json()))
    return Checked(plan, report.holds, Printed(Roads(plan), table))


def small(seed: int) -> Checked:
    """A random plan of a few elements of every kind."""
    return _drawn(random_plan(random.Random(seed)))


@cache
def large(points: int, seed: int) -> Checked:
    """A plan of the shapes that clubs lay."""
    return _drawn(large_plan(random.Random(seed), points))


def _drawn(plan: Plan) -> Checked:
    found = checked(json.dumps(plan))
    assert found is not None
    return found
