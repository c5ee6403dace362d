"""Figures of proposals, read from the proposed plan and its table: how it keeps to practice.

`python tests/proposing/figures.py` (with the library and `tests` on the path) prints them for the
twenty plans and every level; run it against another version of the library to compare.
"""

from __future__ import annotations

import json
import time
from itertools import pairwise
from typing import Any, NamedTuple

Plan = dict[str, Any]


class Figures(NamedTuple):
    """Counts of one proposed plan; all but the first two should be 0."""

    signals: int
    arms: int
    too_wide: int
    """Posts with more than three dolls."""
    past_station: int
    """Full arms whose route runs through one platform to another."""
    into_siding: int
    """Full arms into a siding, of signals that lead elsewhere too."""
    no_mount: int
    no_home: int
    """Platforms without a home by the check, although some track leads to them past no platform."""
    no_starter: int


def figures(text: str) -> Figures:
    """Read the figures of a plan. Routes come from its locking table."""
    from trappoint import check, load, locking

    plan = json.loads(text)
    signals = plan.get("signals", {})
    table = locking(load(text))
    full = {
        arm["id"]: name
        for name, signal in signals.items()
        for arm in signal["arms"]
        if arm.get("kind", "stop") == "stop" and signal.get("form") != "disc"
    }
    routes = {row.arm: row.routes for row in table.arms}
    found = [finding.rule for finding in check(text).findings]
    return Figures(
        len(signals),
        sum(len(signal["arms"]) for signal in signals.values()),
        sum(len(signal["arms"]) > 3 for signal in signals.values()),
        sum(any(passes(plan, r.over) for r in routes[arm]) for arm in full if arm in routes),
        sum(leads_into_siding(plan, signals[full[arm]], routes, arm) for arm in full),
        sum("mount" not in signal for signal in signals.values()),
        found.count("platform-without-home"),
        found.count("platform-without-starter"),
    )


def passes(plan: Plan, over: tuple[str, ...]) -> bool:
    """Return whether a route runs beside one platform and then beside another."""
    beside = [served for track in over if (served := platforms_at(plan, track))]
    return any(one.isdisjoint(other) for one, other in pairwise(beside))


def platforms_at(plan: Plan, track: str) -> set[str]:
    """Return the platforms of a track."""
    platforms = plan.get("platforms", {}).items()
    return {name for name, platform in platforms if track in platform["tracks"]}


def is_siding(plan: Plan, track: str) -> bool:
    """Return whether a track ends at a buffer and serves no platform."""
    ends = plan["tracks"][track]
    return "buffer" in (ends["up"], ends["down"]) and not platforms_at(plan, track)


def leads_into_siding(plan: Plan, signal: Any, routes: Any, arm: str) -> bool:
    """Return whether a full arm leads into a siding while another of its signal leads elsewhere."""
    lasts = {each["id"]: [r.over[-1] for r in routes.get(each["id"], ()) if r.over]
             for each in signal["arms"]}  # fmt: skip
    mine = lasts.get(arm, [])
    elsewhere = any(not is_siding(plan, last) for all_ in lasts.values() for last in all_)
    return bool(mine) and all(is_siding(plan, last) for last in mine) and elsewhere


def _all() -> None:
    from proposing.usual_plans import PLANS
    from trappoint.proposing.levels import LEVELS
    from trappoint.proposing.proposal import CannotPropose, propose

    print(
        "plan | level | signals | arms | over 3 | past station | arm to siding | no mount", end=""
    )
    print(" | no home | no starter | CPU s")
    for name, plan in PLANS.items():
        for level in LEVELS:
            began = time.process_time()
            try:
                text = propose(json.dumps(plan), level=level, seconds=20).drafts[0].text
            except CannotPropose as why:
                print(name, level, why, sep=" | ")
                continue
            spent = f"{time.process_time() - began:.2f}"
            print(name, level, *figures(text), spent, sep=" | ", flush=True)


if __name__ == "__main__":
    _all()
