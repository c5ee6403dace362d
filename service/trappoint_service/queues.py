"""The queues of jobs: fair to each address, and bounded.

A job's *rank* is the time when the share of its address would get to it. An address that has used
more than its share of the processes lately ranks behind those that come after it; an address
alone has everything.
"""

from __future__ import annotations

import math
import threading
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint_service.clients import Client
    from trappoint_service.processes import Process

NEWEST = 0.2
"""Weight of the newest job in the mean time."""

REMEMBERED = 500
"""Addresses above which those without debt are forgotten."""


class Unanswered(Exception):  # noqa: N818 - it describes the failure
    """The reason why a job has no answer."""

    outcome = "fault"
    """Its name in the counters."""


class Busy(Unanswered):
    """Raised if the queue is full, or the job has waited too long."""

    outcome = "refused"

    def __init__(self, waiting: int, seconds: int) -> None:
        super().__init__()
        self.waiting = waiting
        """The number of waiting jobs."""
        self.seconds = seconds
        """An estimate of the seconds until the waiting jobs are done."""


class JobTooLong(Unanswered):
    """Raised if the job exceeded its time limit and was ended."""

    outcome = "too_long"


class TooMuch(Unanswered):
    """Raised if the job exceeded its memory limit."""

    outcome = "too_much"


class JobFault(Unanswered):
    """Raised for an internal error in the job. The message quotes nothing of the plan."""


class JobLost(Unanswered):
    """Raised if the system, or another program, killed the job's process."""

    outcome = "lost"


class ClientGone(Unanswered):
    """Raised if the client hung up; the job was ended."""

    outcome = "gone"


class Turn:
    """One wait for a process, and its outcome. The pool's lock guards all of it."""

    def __init__(self, client: Client, now: float) -> None:
        self.client = client
        self.since = now
        """The time of its arrival, and later of its start."""
        self.rank = now
        self.expected = 0.0
        """The seconds charged to its address."""
        self.process: Process | None = None
        self.worked: float | None = None
        """The processor time of its process at the first look."""
        self.fate: Unanswered | None = None
        """The reason for ending without an answer."""
        self.next: Turn | None = None
        """The turn that replaces it: the job restarts as a long one."""
        self.decided = threading.Event()
        """Set once it has a process or a reason to end."""


@dataclass(frozen=True, slots=True)
class QueueState:
    """The numbers of one queue."""

    size: int
    """Jobs that may run at a time."""
    running: int
    places: int
    """Jobs that may wait."""
    waiting: int
    mean_seconds: float
    """The mean time of a job, weighted to recent ones."""
    counts: Mapping[str, int]
    """The count of each outcome."""


OUTCOMES = ("done", "fault", "too_long", "too_much", "lost", "moved", "refused", "gone")
"""The outcomes of a job.

``moved``: it took long, and went on as a long job. ``lost``: its process was killed from outside.
"""


class Queue:
    """The jobs of one kind: those that run, and those that wait in the order of their ranks."""

    def __init__(self, size: int, places: int, mean: float, patience: float) -> None:
        self.size, self.places = size, places
        self.running: list[Turn] = []
        self.waiting: list[Turn] = []
        self.counts: Counter[str] = Counter(dict.fromkeys(OUTCOMES, 0))
        self._mean = mean
        self._patience = patience
        """Most seconds by which an address can rank behind others."""
        self._used: dict[str, float] = {}
        """For each address, the time at which its debt is paid."""

    def join(self, turn: Turn, now: float) -> Turn | None:
        """Add a turn; return the turn that loses its place. Raises Busy."""
        address = turn.client.address
        owed = min(self._used.get(address, now), now + self._patience)
        turn.rank = max(now, owed)
        loser = None
        if len(self.running) + len(self.waiting) >= self.size + self.places:
            if not self.waiting or self.waiting[-1].rank <= turn.rank:
                raise self.busy()
            loser = self.waiting[-1]
            self.leave(loser)
        if len(self._used) > REMEMBERED:
            self._used = {who: until for who, until in self._used.items() if until > now}
        turn.expected = self._mean * self._share(address)
        self._used[address] = turn.rank + turn.expected
        self.waiting.append(turn)
        self.waiting.sort(key=lambda one: one.rank)
        return loser

    def _share(self, address: str) -> float:
        """Return by how much longer a job takes on its address's share than on everything."""
        addresses = {turn.client.address for turn in (*self.running, *self.waiting)}
        return len(addresses | {address}) / self.size

    def adopt(self, turn: Turn, now: float) -> None:
        """Take over a running turn from another queue."""
        turn.expected = 0.0
        self._used.setdefault(turn.client.address, now)
        self.running.append(turn)

    def pop(self) -> Turn | None:
        """Return the next turn; None if none may start."""
        if not self.waiting or len(self.running) >= self.size:
            return None
        turn = self.waiting.pop(0)
        self.running.append(turn)
        return turn

    def leave(self, turn: Turn) -> None:
        """Remove a waiting turn without charge."""
        self.waiting.remove(turn)
        self._charge(turn.client.address, -turn.expected)

    def finish(self, turn: Turn, seconds: float, *, measure: bool) -> None:
        """Remove a turn that ran, and charge its address. ``measure``: count it in the mean."""
        self.running.remove(turn)
        address = turn.client.address
        self._charge(address, seconds * self._share(address) - turn.expected)
        if measure:
            self._mean += NEWEST * (seconds - self._mean)

    def _charge(self, address: str, seconds: float) -> None:
        if address in self._used:
            self._used[address] += seconds

    def seconds_for(self, place: int) -> int:
        """Return an estimate of the seconds until a place's turn comes, at least 1."""
        return max(1, math.ceil(math.ceil(place / self.size) * self._mean))

    def busy(self) -> Busy:
        """Return the error for a turn that finds no place."""
        return Busy(len(self.waiting), self.seconds_for(len(self.waiting) + 1))

    def state(self) -> QueueState:
        """Return the numbers."""
        return QueueState(
            self.size,
            len(self.running),
            self.places,
            len(self.waiting),
            self._mean,
            dict(self.counts),
        )
