"""Proposals are the least there is, against trying every choice of signals.

What holds is decided by the two-train search, which shares no code with the library; roads are
counted from its routes.
"""

from __future__ import annotations

import json
import os
from itertools import combinations, permutations

import pytest

from drafting.bare import NOWHERE_FOR_A_POST, Plan, bare_plan, signalled, track_ends
from oracle.two_trains import holds, routes_of
from trappoint import check
from trappoint.drafting import CannotPropose, propose

BATCHES = int(os.environ.get("TRAPPOINT_DRAFTS", "1")) * 4
EACH = 25


def pieces(plan: Plan, *, at_most: int) -> int | None:
    """Signals and arms of a plan in which every signal stands for itself; None where one idles,
    or two of its roads may not be told apart by names: one runs over all that the other does.

    Of plans without turntables every route of a signal needs the points otherwise than its others.
    """
    signals = plan["signals"]
    if len(signals) * 2 > at_most:
        return at_most + 1  # each has an arm
    routes = routes_of(plan)
    if any(not routes.get(signal) or confused(plan, routes[signal]) for signal in signals):
        return None
    return len(signals) + sum(len(routes[signal]) for signal in signals)


def confused(plan: Plan, routes: list[list[str]]) -> bool:
    over = [{place for place in route if place in plan["tracks"]} for route in routes]
    return any(one <= other for one, other in permutations(over, 2))


def better_ones(plan: Plan, worth: int) -> list[Plan]:
    """All choices of signals with which the plan holds, of fewer signals and arms than these."""
    ends = track_ends(plan)
    found = []
    for count in range((worth + 1) // 2):
        for chosen in combinations(ends, count):
            choice = signalled(plan, chosen)
            if not holds(choice):
                continue
            size = pieces(choice, at_most=worth - 1)
            if size is not None and size < worth:
                found.append(choice)
    return found


@pytest.mark.parametrize("batch", range(BATCHES))
def test_nothing_smaller_holds(batch: int) -> None:
    tried = 0
    for seed in range(batch * EACH, (batch + 1) * EACH):
        plan = bare_plan(seed, (1, 3))
        if "turntables" in plan or "yards" in plan or len(track_ends(plan)) > 9:
            continue
        draft = propose(json.dumps(plan)).drafts[0]
        assert draft.least
        assert draft.report.holds
        if any(finding.rule == "signal-without-route" for finding in draft.report.findings):
            continue  # a stand whose only way on leads nowhere: such a signal there must be
        tried += 1
        assert draft.worth == draft.signals + draft.arms
        for smaller in better_ones(plan, draft.worth):
            # The search finds no meeting only because no train can ever come there. The check
            # remarks on it, and proposals leave nothing to be remarked on.
            rules = {finding.rule for finding in check(json.dumps(smaller)).findings}
            assert rules & {"unheld-exit", "arm-needs-to"}, (seed, smaller["signals"])
    assert tried > 3


def test_where_no_post_can_stand() -> None:
    with pytest.raises(CannotPropose, match="no post can stand"):
        propose(json.dumps(NOWHERE_FOR_A_POST))
