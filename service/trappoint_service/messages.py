"""What the service and its worker processes send each other through pipes.

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
    """The worker can take jobs."""


@dataclass(frozen=True, slots=True)
class Done:
    """The answer of a job."""

    answer: object
    last: bool
    """Whether the worker ends after this reply."""


@dataclass(frozen=True, slots=True)
class Misunderstood:
    """The wish of the job was wrong."""

    why: str
    last: bool


@dataclass(frozen=True, slots=True)
class OutOfMemory:
    """The job wanted more memory than it may have."""

    last: bool


@dataclass(frozen=True, slots=True)
class Failed:
    """The job failed by a fault of the program."""

    where: str
    """The kind and the place of the fault, and nothing of the document."""
    last: bool


Reply = Done | Misunderstood | OutOfMemory | Failed


def send(stream: IO[bytes], message: object) -> None:
    """Write one message."""
    pickle.dump(message, stream, pickle.HIGHEST_PROTOCOL)
    stream.flush()


def receive(stream: IO[bytes]) -> Any:
    """Read one message. Raises EOFError where the other side has gone."""
    try:
        return pickle.load(stream)  # noqa: S301 - from a process of our own
    except pickle.UnpicklingError:  # the end of it is missing
        raise EOFError from None
