"""What there is too much of in a plan for all of it to be gone through."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import pointer_to
from trappoint.interlocking.conflicts import MAX_PAIRS, too_many_pairs

if TYPE_CHECKING:
    from trappoint.facts.facts import Facts

_STOP = "Put stop signals on the way, so that routes end sooner; or make tracks a yard."


class ExceededLimit(NamedTuple):
    """Something of which a plan has more than can be gone through."""

    pointer: str
    message: str
    """What there is too much of, in a sentence."""
    fix: str


def exceeded_limits(facts: Facts) -> list[ExceededLimit]:
    """Return what a plan has too much of, routes of a single signal apart."""
    routes, found = facts.routes, list[ExceededLimit]()
    if routes.untried is not None:
        head = facts.network.heads[routes.untried]
        told = f"All signals together have more routes than can be followed, from {head.signal} on."
        return [ExceededLimit(head.pointer, told, _STOP)]
    if facts.verdict.unfinished or any(run.cut for run in facts.free_runs):
        told = (
            "Trains can run so far with no stop signal to hold them that not all of it can be "
            "gone through."
        )
        fix = "Put stop signals where trains stand, or make tracks a yard."
        found.append(ExceededLimit(pointer_to("tracks"), told, fix))
    if facts.assignment.cut:
        told = "The arms speak for more routes than can be gone through."
        fix = "Aim each arm at its own road with `to`."
        return [*found, ExceededLimit(pointer_to("signals"), told, fix)]
    if too_many_pairs(facts.routes, facts.together, facts.assignment):
        told = (
            f"The locking table would have to compare more than {MAX_PAIRS:,} pairs of routes: so "
            "many arms conflict with so many."
        )
        found.append(ExceededLimit(pointer_to("signals"), told, _STOP))
    if facts.distants_cut:
        told = "The distants speak for more arms than can be gone through."
        fix = "Let each distant repeat the stop signals of its own box alone."
        found.append(ExceededLimit(pointer_to("signals"), told, fix))
    return found
