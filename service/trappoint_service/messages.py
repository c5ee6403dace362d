"""The messages between the service and its worker processes.

The service sends jobs, a worker sends ``WorkerReady`` once and then one reply for each job. Both
are processes of one program, so what they send can be pickled.
"""

from __future__ import annotations

import pickle
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from typing import IO


@dataclass(frozen=True, slots=True)
class WorkerReady:
    """The worker is ready."""


@dataclass(frozen=True, slots=True)
class Done:
    """The answer of a job."""

    answer: object
    last: bool
    """Whether the worker ends after this reply."""


@dataclass(frozen=True, slots=True)
class Misunderstood:
    """The options of the job are malformed."""

    why: str
    last: bool


@dataclass(frozen=True, slots=True)
class OutOfMemory:
    """The job exceeded its memory limit."""

    last: bool


@dataclass(frozen=True, slots=True)
class Failed:
    """The job failed with an internal error."""

    where: str
    """The type and place of the error, without any text of the plan."""
    last: bool


Reply = Done | Misunderstood | OutOfMemory | Failed


def send(stream: IO[bytes], message: object) -> None:
    """Write one message."""
    pickle.dump(message, stream, pickle.HIGHEST_PROTOCOL)
    stream.flush()


def receive(stream: IO[bytes]) -> Any:
    """Read one message. Raises EOFError if the other side has closed."""
    try:
        return pickle.load(stream)  # noqa: S301 - from a process of our own
    except pickle.UnpicklingError:  # its end is missing
        raise EOFError from None
