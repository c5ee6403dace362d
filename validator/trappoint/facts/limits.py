"""The limits beyond which a plan is too large to analyse."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import pointer_to
from trappoint.interlocking.conflicts import MAX_PAIRS, too_many_pairs

if TYPE_CHECKING:
    from trappoint.facts.facts import Facts

_STOP = "Put stop signals on the way, so that routes end sooner; or make tracks a yard."


class ExceededLimit(NamedTuple):
    """A limit that a plan exceeds."""

    pointer: str
    message: str
    fix: str


def exceeded_limits(facts: Facts) -> list[ExceededLimit]:
    """Return the limits that a plan exceeds, except that on the routes of one signal."""
    routes, found = facts.routes, list[ExceededLimit]()
    if routes.untried is not None:
        head = facts.network.heads[routes.untried]
        message = (
            f"The signals together have too many routes to analyse, from signal {head.signal} on."
        )
        return [ExceededLimit(head.pointer, message, _STOP)]
    if facts.verdict.unfinished or any(run.cut for run in facts.free_runs):
        message = "The ways on which no stop signal holds trains are too long to analyse."
        fix = "Put stop signals where trains stand, or make tracks a yard."
        found.append(ExceededLimit(pointer_to("tracks"), message, fix))
    if facts.assignment.cut:
        message = "The arms give leave for too many routes to analyse."
        fix = "Add a `to` to each arm, so that it gives leave for its own road only."
        return [*found, ExceededLimit(pointer_to("signals"), message, fix)]
    if too_many_pairs(facts.routes, facts.together, facts.assignment):
        message = (
            f"The locking table is too large: more than {MAX_PAIRS:,} pairs of routes must be "
            "compared."
        )
        found.append(ExceededLimit(pointer_to("signals"), message, _STOP))
    if facts.distants_cut:
        message = "The distants repeat too many arms to analyse."
        fix = "Reduce the `repeats` of each distant to the stop signals of its own box."
        found.append(ExceededLimit(pointer_to("signals"), message, fix))
    return found
