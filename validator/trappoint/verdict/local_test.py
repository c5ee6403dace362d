"""The local test: it decides whether most plans hold, without a search through the game.

``schema/README.md`` defines "holds" by a game of two trains. If a signal holds every train that
stands or comes on, no train ever runs freely: all trains move by routes that share no place, and
the plan holds. For other plans, this test decides.

Let s be a stand or the place at an edge, h a heading in which no signal holds a train in s, F the
set of all places of its free run, and G = F together with s. In F, the trap groups that guard lie
normal (see ``guards``). The plan holds if for every s and h

0. s is not at an edge, or F is empty: otherwise the next train that comes on runs into the first;
1. no other stand and no other edge lies in F;
2. no free run from elsewhere enters G;
3. every route that has a place of G either
   a. has all of G, or
   b. does not have s, does not end in G, and makes points lie so that no train in the rest of G can
      freely enter the route.

The test is sound. Call a train a *user* of G while it is in G, or while a route that has all of G
(3a) promises it a place of G. By 0, 1 and 2, only a train from s enters G freely, and that train is
already a user. By 3a, a route that has all of G is given only while there is no user and no train
with a route of kind 3b that still has a place of G. So G never has two users. Two trains can meet
only if one of them runs freely, in some G, into a place that the other has or that was promised to
it. The other train cannot be a user. It cannot have a route of kind 3b either: while that route is
promised, the points lie so that the user cannot reach it (not even the part behind the train, which
is why the whole route counts), and when the promise ends, the train is outside G.

If the test fails, ``counterexamples`` looks for a movement. If 0 or 1 fails, there is always one.
If 2 or 3 fails, there is mostly one in which one train stands still while the other runs up to its
signal; if not, ``pair_search`` searches the game itself. A failure without a movement does not
count against the plan.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.verdict.verdict import Verdict

if TYPE_CHECKING:
    from trappoint.interlocking.routes import Routes
    from trappoint.verdict.free_runs import FreeMoves, FreeRun
    from trappoint.verdict.verdict import Failure


MAX_FAILURES = 500
"""The most unheld exits reported for a plan that does not hold."""

MAX_STEPS = 100_000
"""The most steps of all its movements together."""


def judge(moves: FreeMoves, routes: Routes, free_runs: list[FreeRun]) -> Verdict:
    """Judge a plan from its moves, routes and free runs."""
    if not any(run.reached for run in free_runs):
        return Verdict(True, ())  # A signal holds every train.
    from trappoint.verdict.counterexamples import Failing

    failing = Failing(moves, routes, free_runs)
    failures: list[Failure] = []
    steps = 0
    holds: bool | None = True
    for failure in failing.failures():
        failures.append(failure)
        if failure.movement is not None:
            holds = False
            steps += len(failure.movement.steps)
        if holds is False and (len(failures) > MAX_FAILURES or steps > MAX_STEPS):
            break  # The plan does not hold, and further failures have the same causes.
    if holds and (failing.unfinished or not all(failure.decided for failure in failures)):
        holds = None
    return Verdict(holds, tuple(failures), failing.unfinished)
