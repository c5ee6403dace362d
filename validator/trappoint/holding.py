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
    from trappoint.verdict import Failure


MOST_FAILURES = 500
"""The unheld exits that are looked for in a plan that does not hold."""

MOST_STEPS = 100_000
"""The steps of all movements that are shown together, likewise."""


def judge(network: Network, routes: Routes, free_runs: list[FreeRun]) -> Verdict:
    """Judge a plan from its moves, routes and free runs."""
    if not any(run.reached for run in free_runs):
        return Verdict(True, ())  # Every train that stands is held where it stands.
    from trappoint.failing import Failing

    failing = Failing(network, routes, free_runs)
    failures: list[Failure] = []
    steps = 0
    holds: bool | None = True
    for failure in failing.failures():
        failures.append(failure)
        if failure.movement is not None:
            holds = False
            steps += len(failure.movement.steps)
        if holds is False and (len(failures) > MOST_FAILURES or steps > MOST_STEPS):
            break  # That the plan does not hold is known, and who has so many has one cause.
    if holds and (failing.unfinished or not all(failure.decided for failure in failures)):
        holds = None
    return Verdict(holds, tuple(failures), failing.unfinished)
