"""The plans of the proofs, and their numbers."""

from __future__ import annotations

import json
import random
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import trappoint
from amount import amount
from oracle.plans import large_plan, random_plan
from oracle.stations import station_plan
from proof.movement import Movement
from proof.printed import Printed
from proof.roads import Roads
from proof.routes import Route

Plan = dict[str, Any]
EXAMPLES = Path(__file__).parents[2] / "examples"
TIMES = amount(1, long=20)
"""The number of plans in a long run, as a multiple of that in a short run."""


class Checked(NamedTuple):
    """A plan, the verdict of the check, and the table as routes on the plan."""

    plan: Plan
    holds: bool
    printed: Printed
    movements: list[Movement]
    """The movements of the check, empty if the plan holds."""


def checked(text: str | Path) -> Checked | None:
    """Return the verdict and the table from the library's public API, None without a verdict."""
    report = trappoint.check(text)
    assert report.fault is None
    if report.holds is None or report.table is None:
        return None
    plan = json.loads(text.read_text("utf-8") if isinstance(text, Path) else text)
    table = json.loads(json.dumps(report.table.to_json()))
    shown = [finding.movement.to_json() for finding in report.findings if finding.movement]
    return Checked(plan, report.holds, Printed(Roads(plan), table), shown)


def small(seed: int) -> Checked:
    """Return a random plan of a few elements of every kind."""
    return _drawn(random_plan(random.Random(seed)))


def station(seed: int) -> Checked:
    """Return a random station, laid and signalled as people do."""
    return _drawn(station_plan(random.Random(seed)))


def held(seed: int) -> Checked:
    """Return a small random plan with mostly held edges."""
    rng = random.Random(seed)
    plan = random_plan(rng)
    ends = [track[end] for track in plan["tracks"].values() for end in ("up", "down")]
    names = [text.removeprefix("edge:") for text in ends if text.startswith("edge:")]
    plan["edges"] = {name: {"held": rng.random() < 0.8} for name in names}
    return _drawn(plan)


@cache
def large(points: int, seed: int) -> Checked:
    """Return a plan of the shapes that clubs lay."""
    return _drawn(large_plan(random.Random(seed), points))


def _drawn(plan: Plan) -> Checked:
    found = checked(json.dumps(plan))
    assert found is not None
    assert all(may_be_silent(found.printed.roads, route) for route in found.printed.silent)
    return found


def may_be_silent(roads: Roads, route: Route) -> bool:
    """Return whether a route needs no arm: it ends in a drag, or at a limit outside a stand."""
    place = route.path[-1][0]
    if place in roads.drags:
        return True
    (gate,) = roads.gates[route.path[-1]] if place in roads.pieces.sections else (None,)
    to_limit = gate is not None and not gate.ways and not gate.leaves
    return to_limit and route.kind == "stop" and place not in roads.stands
