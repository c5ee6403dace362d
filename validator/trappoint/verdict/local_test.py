"""The verdict: does the plan hold, and if not, by which movement do two trains meet?

What "holds" means is the game of ``schema/README.md``. If every train that stands, and every train
that comes on, is held where it is, no train ever runs freely: all of them move by routes, no two of
which have a place in common, and the plan holds. Elsewhere this local test decides.

Let s be a stand or the place at an edge, h a heading in which a train in s is not held, F all the
places of its free run, and G = F together with s. In F trap groups that guard lie normal (see
``guards``). The plan holds if for every s and h

0. s is no edge with anything in F: the next train that comes on would run into the first;
1. no other stand and no other edge lies in F;
2. no free run from elsewhere comes into G;
3. every route that has a place of G either
   a. has all of G, or
   b. does not have s, does not end in G, and makes points lie so that no train in the rest of G can
      freely come into it.

It is sound. Call a train a *user* of G while it is in G or has a place of G promised by a route
that has all of G (3a). By 0, 1 and 2 no train comes into G freely but one from s, which is a user
already; by 3a a route that has all of G is granted only while there is no user, nor any train with
a route of kind 3b that still has a place of G. So there are never two users of one G. Two trains
can meet only if one of them runs freely, in some G, into a place that the other has or was
promised. A user cannot be that other train. A train with a route of kind 3b cannot either: while
the route is promised, the points lie so that the user cannot come to it (also not to the part of it
that is run off, which is why the whole route counts), and when the promise ends, that train is
outside G.

Where the test fails, a movement is looked for. If 0 or 1 fails, there always is one. For the others
there is mostly one in which one train stands still while the other comes to the signal; else the
game itself is searched. A failure without a movement does not tell against the plan.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.verdict.verdict import Verdict

if TYPE_CHECKING:
    from trappoint.interlocking.routes import Routes
    from trappoint.verdict.free_runs import FreeMoves, FreeRun
    from trappoint.verdict.verdict import Failure


MAX_FAILURES = 500
"""The unheld exits that are looked for in a plan that does not hold."""

MAX_STEPS = 100_000
"""The steps of all movements that are shown together, likewise."""


def judge(moves: FreeMoves, routes: Routes, free_runs: list[FreeRun]) -> Verdict:
    """Judge a plan from its moves, routes and free runs."""
    if not any(run.reached for run in free_runs):
        return Verdict(True, ())  # Every train is held where it is.
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
            break  # That the plan does not hold is known, and so many failures have one cause.
    if holds and (failing.unfinished or not all(failure.decided for failure in failures)):
        holds = None
    return Verdict(holds, tuple(failures), failing.unfinished)
