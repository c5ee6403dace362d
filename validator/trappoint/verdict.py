"""What a verdict is: whether a plan holds, and every exit at which a train is not held."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from trappoint.free_runs import FreeRun
    from trappoint.movements import Movement


class TooMany(Exception):  # noqa: N818 # it is no fault, only an answer that was not found
    """A search was given up: there is more to look at than it may."""


class Failure(NamedTuple):
    """One exit of a stand at which a train is not held, and what comes of it."""

    run: FreeRun
    kind: Literal["stand", "free-run", "route-across", "route-behind"]
    """What lies in the free run: another stand; another stand's free run; a route that does not
    have the stand; or a route that has the stand, but not all of its free run."""
    place: int
    """The place at which it goes wrong: in the free run."""
    other: int
    """The other stand (kinds ``stand``, ``free-run``) or the route."""
    movement: Movement | None
    decided: bool
    """False where it could not be found out whether there is a movement."""


class Verdict(NamedTuple):
    """Whether the plan holds (None: it could not be decided), and every unheld exit."""

    holds: bool | None
    failures: tuple[Failure, ...]
    unfinished: bool = False
    """True where the plan is too large for all its exits to be gone through."""
