"""What a verdict is: whether a plan holds, and every exit at which a train is not held."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from trappoint.verdict.free_runs import FreeRun
    from trappoint.verdict.movements import Movement


class Failure(NamedTuple):
    """One way out of a stand, or on from an edge, that is not held, and what comes of it."""

    run: FreeRun
    kind: Literal["edge", "stand", "free-run", "route-across", "route-behind"]
    """What goes wrong: the next train from the same edge; another train's stand lies in the free
    run; another free run comes into it; a route does not have the stand; or a route has the stand,
    but not all of the free run, or not to the end."""
    place: int
    """The place at which it goes wrong: in the free run."""
    other: int
    """The place where the other train stands or comes on (kinds ``stand``, ``free-run``, ``edge``),
    or the route."""
    movement: Movement | None
    decided: bool
    """False if it is not known whether there is a movement."""


class Verdict(NamedTuple):
    """Whether the plan holds (None: it could not be decided), and every unheld exit."""

    holds: bool | None
    failures: tuple[Failure, ...]
    unfinished: bool = False
    """True if the plan is too large for all its exits to be gone through."""
