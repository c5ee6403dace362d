"""The verdict: does the plan hold, and if not, by which movement do two trains meet?

The local test. Let F be a stand together with all places of its free run in one heading. The plan
holds if, for every stand and heading in which F is more than the stand itself,

1. no other stand lies in F,
2. no other stand's free run comes into F, and
3. every route that has any place of F has all of F.

It is sound: call a train a user of F while it is in F or has a place of F promised. By 1 and 2 no
train comes into F freely but from this very stand, in which case it is a user already; by 3 a route
into F has all of F, so it is granted only while nobody uses F. Two users of one F there never are;
and two trains meet only where both use one F, or where one place was promised twice.

Where the test fails, the movement is looked for. Failures of 1 and 2 always have one. For 3 there
is mostly one in which one train stands still while the other comes to the signal; else all pairs of
positions are searched. A failure without a movement does not tell against the plan.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.verdict import Verdict

if TYPE_CHECKING:
    from trappoint.free_runs import FreeRun
    from trappoint.network import Network
    from trappoint.routes import Routes


def judge(network: Network, routes: Routes, free_runs: list[FreeRun]) -> Verdict:
    """Judge a plan from its moves, routes and free runs."""
    if not any(run.reached for run in free_runs):
        return Verdict(True, ())  # Every train that stands is held where it stands.
    from trappoint.failing import Failing

    failures = tuple(Failing(network, routes, free_runs).failures())
    if any(failure.movement is not None for failure in failures):
        return Verdict(False, failures)
    if any(not failure.decided for failure in failures):
        return Verdict(None, failures)
    return Verdict(True, failures)
