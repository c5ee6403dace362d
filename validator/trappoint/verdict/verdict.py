"""The verdict on a plan: whether it holds, and each exit at which no signal holds a train."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from trappoint.verdict.free_runs import FreeRun
    from trappoint.verdict.movements import Movement


class Failure(NamedTuple):
    """An unheld exit of a stand or an edge, and the danger there."""

    run: FreeRun
    kind: Literal["edge", "stand", "free-run", "route-across", "route-behind"]
    """The danger in the free run: ``edge``: the next train from the same edge; ``stand``: the stand
    of another train; ``free-run``: another free run; ``route-across``: a route that does not have
    the own stand; ``route-behind``: a route that has the own stand, but not all of the free run."""
    place: int
    """The place of the danger, in the free run."""
    other: int
    """The place where the other train stands or comes on (kinds ``stand``, ``free-run``, ``edge``),
    or the route."""
    movement: Movement | None
    decided: bool
    """False if it is not known whether there is a movement."""


class Verdict(NamedTuple):
    """Whether the plan holds (None if the check could not decide), and every unheld exit."""

    holds: bool | None
    failures: tuple[Failure, ...]
    unfinished: bool = False
    """True if the plan has too many exits to analyse them all."""
