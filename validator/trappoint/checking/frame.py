"""The locking of a plan's lever frame, from a plan that is in order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.errors import PlanError
from trappoint.core.findings import pointer_to

if TYPE_CHECKING:
    from trappoint.lever_frame.frame import FrameTable
    from trappoint.model.layout import Layout
    from trappoint.model.settings import Settings


def frame_table(
    layout: Layout, *, settings: Settings | None = None, interlock_points: bool = True
) -> FrameTable:
    """Return the locking of a plan's lever frame.

    ``layout`` is a plan that ``trappoint.load`` returned; ``settings`` are a club's own (overlaps).
    With ``interlock_points`` points are locked among themselves where that avoids a collision and
    hinders no set of movements that could be made at once (see ``lever_frame.points``); without it,
    such movements are kept apart by locking between their arms.

    Raises ``PlanError`` if a signal has more routes than the limit, or the levers lock each other
    in more ways than the limit.
    """
    from trappoint.facts.facts import Facts
    from trappoint.lever_frame.clauses import TooMuchLocking
    from trappoint.lever_frame.derivation import derive_frame

    facts = Facts(layout) if settings is None else Facts(layout, settings)
    if facts.beyond_limits:
        from trappoint.checking.check import limit_findings

        raise PlanError(limit_findings(facts))
    try:
        return derive_frame(facts, interlock_points=interlock_points)
    except TooMuchLocking:
        raise _too_much() from None


def _too_much() -> PlanError:
    from trappoint.rules.size import TOO_MUCH

    found = TOO_MUCH.finding(
        pointer_to("levers"),
        "The levers lock each other in too many ways to analyse.",
        "Let each lever work fewer points and arms; or give each signal box a plan, and so a "
        "frame, of its own.",
        at_key=True,
    )
    return PlanError([found])
