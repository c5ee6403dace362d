"""The worker processes, and the queues for them.

Each job runs in a separate process, because a thread cannot be stopped. Checks are quick: a few
run at a time, and others wait a little. Long jobs (proposals, parts) have their own queue, so that
checks never wait for them. A slow check continues as a long job, or
restarts as one if all places for long jobs are taken.

One thread, the watch, looks at all jobs several times a second: it ends those that take too long
and those whose client has hung up. A thread that waits for an answer just waits.
"""

from __future__ import annotations

import os
import threading
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from trappoint_service.clients import Client
from trappoint_service.jobs import UnusableWish
from trappoint_service.messages import Done, Misunderstood, OutOfMemory
from trappoint_service.processes import Process, ProcessDied
from trappoint_service.queues import (
    Busy,
    ClientGone,
    JobFault,
    JobLost,
    JobTooLong,
    Queue,
    QueueState,
    TooMuch,
    Turn,
    Unanswered,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint_service.config import Config
    from trappoint_service.jobs import A, Job
    from trappoint_service.messages import Reply

__all__ = ["Busy", "ClientGone", "JobFault", "JobLost", "JobTooLong", "Pool", "TooMuch"]

SPARE_PROCESSES = 1
"""Extra processes, which fill in while others are replaced."""

STARTED_AT_A_TIME = 2
"""Processes to start at a time: the first are ready sooner than if all start together."""

LARGE_BYTES = 256 * 1024
"""Bytes above which a request is a long job: such a plan may take a second."""

LOOK_SECONDS = 0.1
"""Seconds between two looks at all jobs."""

GUESSED_SECONDS = 0.1
"""Seconds that a check takes, before any has been measured."""

SIGKILL = 9


@dataclass(frozen=True, slots=True)
class PoolState:
    """The numbers of a pool, for monitoring."""

    quick: QueueState
    long: QueueState
    idle: int
    """Idle processes."""
    starting: int
    """Starting processes."""

    @property
    def ready(self) -> bool:
        """Whether there is any process that can do a job."""
        return self.idle + self.quick.running + self.long.running > 0


@dataclass(frozen=True, slots=True)
class Place:
    """Where a request is in the queue of the long jobs."""

    place: int
    """1 for the next, 0 for a running one."""
    waiting: int
    seconds: int
    """An estimate of the seconds until its turn; 0 for a running one."""


class Pool:
    """The processes of this server process, and the queues for them."""

    def __init__(self, config: Config, client: Callable[[], Client] = Client) -> None:
        """``client`` returns the client of the request that the calling thread answers."""
        self._config = config
        self._client = client
        self._owner = 0
        self._own_lock = threading.Lock()

    @property
    def seconds_to_search(self) -> float:
        """The time limit of a search, in seconds: half of the time limit of a job.

        The answer gives a bound on how good the best possible result is.
        """
        return self._config.deadline_seconds / 2

    def start(self) -> None:
        """Start the processes, so that the first request need not wait for them."""
        with self._own_lock:
            if self._owner != os.getpid():
                self._begin()
                self._owner = os.getpid()

    def _begin(self) -> None:
        """Reset everything: a server that forks must not share processes."""
        config = self._config
        self._lock = threading.Lock()
        patience = config.wait_seconds / 2
        self._quick = Queue(config.workers, config.quick_places, GUESSED_SECONDS, patience)
        self._long = Queue(
            config.long_workers, config.long_places, self.seconds_to_search, float("inf")
        )
        count = config.workers + config.long_workers + SPARE_PROCESSES
        self._all = [Process(config) for _ in range(count)]
        self._idle: list[Process] = []
        self._down: list[Process] = []
        self._starting = 0
        self._starters = threading.Semaphore(STARTED_AT_A_TIME)
        self._up_since = 0.0
        self._closed = False
        self._work_there = threading.Event()
        threading.Thread(target=self._watch, name="watch", daemon=True).start()
        with self._lock:
            for process in self._all:
                self._bring_up(process)

    def run(self, job: Job[A]) -> A:
        """Run a job in a free process.

        Raises Busy, ClientGone, JobFault, JobLost, JobTooLong, TooMuch or UnusableWish.
        """
        self.start()
        turn = Turn(self._client(), time.monotonic())
        long = job.long or turn.client.sent > LARGE_BYTES
        queue = self._long if long else self._quick
        with self._lock:
            try:
                self._join(queue, turn)
            except Busy as busy:
                queue.counts[busy.outcome] += 1
                raise
        reply = self._reply(turn, job)
        if turn.next is not None:
            reply = self._reply(turn.next, job)
        answer: A = _answer_in(reply)
        return answer

    def _join(self, queue: Queue, turn: Turn) -> None:
        """Give a turn a place in a queue. Raises Busy. The lock is held."""
        if self._closed:
            raise queue.busy()
        loser = queue.join(turn, turn.since)
        if loser is not None:
            self._turn_away(queue, loser, queue.busy())
        while self._down:
            self._bring_up(self._down.pop())
        self._hand_out()
        self._work_there.set()

    def _turn_away(self, queue: Queue, turn: Turn, fate: Unanswered) -> None:
        """End a turn with its reason. The lock is held."""
        queue.counts[fate.outcome] += 1
        turn.fate = fate
        turn.decided.set()

    def _hand_out(self) -> None:
        """Give free processes to the next turns. The lock is held."""
        for process in [process for process in self._idle if not process.alive]:
            self._idle.remove(process)
            self._bring_up(process)
        for queue in (self._quick, self._long):
            while self._idle and (turn := queue.pop()) is not None:
                turn.process = self._idle.pop()
                turn.since = time.monotonic()
                turn.decided.set()

    def _reply(self, turn: Turn, job: Job[Any]) -> Reply | None:
        """Wait for the turn's process, and for its reply: None if the turn has a next one."""
        turn.decided.wait()
        process = turn.process
        if process is None:
            raise turn.fate or JobFault("a turn without a fate")
        reply, died = None, None
        try:
            reply = process.ask(job)
        except ProcessDied as error:
            died = error
        finally:  # after any error: without a reply, the process is in an unknown state
            with self._lock:
                self._finish(turn, process, reply, died)
        if turn.fate is not None:
            raise turn.fate
        return reply if turn.next is None else None

    def _finish(
        self, turn: Turn, process: Process, reply: Reply | None, died: ProcessDied | None
    ) -> None:
        """Record the end of a turn, and free or replace its process. The lock is held."""
        queue = self._queue_of(turn)
        if reply is None and turn.fate is None and turn.next is None:
            if self._closed:
                turn.fate = queue.busy()
            elif died is not None and died.code == -SIGKILL:
                turn.fate = JobLost()
            elif died is not None:
                # It ended on its own, most likely for lack of memory.
                turn.fate = TooMuch()
        outcome = _outcome(turn, reply)
        queue.counts[outcome] += 1
        queue.finish(turn, time.monotonic() - turn.since, measure=outcome in ("done", "too_long"))
        if reply is None or reply.last or turn.fate is not None or turn.next is not None:
            self._bring_up(process, gently=reply is not None)
        else:
            self._idle.append(process)
        self._hand_out()

    @property
    def _up(self) -> int:
        """How many processes have been started, and not ended."""
        return len(self._idle) + len(self._quick.running) + len(self._long.running)

    def _queue_of(self, turn: Turn) -> Queue:
        return self._long if turn in self._long.running else self._quick

    # --- starting processes

    def _bring_up(self, process: Process, *, gently: bool = False) -> None:
        """End a process and start another, in a new thread. The lock is held."""
        self._starting += 1
        words = (process, gently)
        threading.Thread(target=self._start_anew, args=words, name="start", daemon=True).start()

    def _start_anew(self, process: Process, gently: bool) -> None:
        up = False
        try:
            process.end(gently=gently)
            with self._starters:
                process.start()
            up = True
        except (OSError, ProcessDied):
            process.end()
        with self._lock:
            self._starting -= 1
            if up:
                if not self._up:
                    self._up_since = time.monotonic()
                self._idle.append(process)
                self._hand_out()
            else:
                self._down.append(process)
                self._give_up_if_none_is_left()

    def _give_up_if_none_is_left(self) -> None:
        """Refuse all turns if no process can start. The lock is held."""
        if self._up or self._starting:
            return
        for queue in (self._quick, self._long):
            while queue.waiting:
                turn = queue.waiting[0]
                queue.leave(turn)
                fault = JobFault("a process that does not start")
                self._turn_away(queue, turn, fault)

    def close(self) -> None:
        """End all processes; refuse the waiting turns."""
        if self._owner != os.getpid():
            return
        with self._lock:
            self._closed = True
            for queue in (self._quick, self._long):
                while queue.waiting:
                    turn = queue.waiting[0]
                    queue.leave(turn)
                    self._turn_away(queue, turn, queue.busy())
            self._work_there.set()
        for process in self._all:
            process.close()

    # --- the watch

    def _watch(self) -> None:
        """Look at all jobs at regular intervals."""
        while not self._closed:
            self._work_there.wait()
            time.sleep(LOOK_SECONDS)
            with self._lock:
                now = time.monotonic()
                turns = [*self._quick.running, *self._long.running]
                for turn in turns:
                    self._look_at_running(turn, now)
                for queue in (self._quick, self._long):
                    for turn in list(queue.waiting):
                        self._look_at_waiting(queue, turn, now)
                if not (turns or self._quick.waiting or self._long.waiting or self._closed):
                    self._work_there.clear()

    def _look_at_waiting(self, queue: Queue, turn: Turn, now: float) -> None:
        if turn.client.gone():
            queue.leave(turn)
            self._turn_away(queue, turn, ClientGone())
        elif queue is self._quick and self._waited(turn, now) >= self._config.wait_seconds:
            queue.leave(turn)
            self._turn_away(queue, turn, queue.busy())

    def _waited(self, turn: Turn, now: float) -> float:
        """Return how long a turn has waited; 0 while no process is up, so that none is refused."""
        return now - max(turn.since, self._up_since) if self._up else 0.0

    def _look_at_running(self, turn: Turn, now: float) -> None:
        if turn.fate is not None or turn.next is not None or turn.process is None:
            return
        seconds = now - turn.since
        if turn.client.gone():
            turn.fate = ClientGone()
        elif seconds >= self._config.deadline_seconds:
            turn.fate = JobTooLong()
        elif turn in self._quick.running and self._takes_long(turn, turn.process):
            self._make_long(turn, now)
        if turn.fate is not None or turn.next is not None:
            turn.process.kill()

    def _takes_long(self, turn: Turn, process: Process) -> bool:
        worked = process.worked_seconds()
        if turn.worked is None:
            turn.worked = worked
        return worked - turn.worked >= self._config.quick_seconds

    def _make_long(self, turn: Turn, now: float) -> None:
        """Let a check continue as a long job, or restart as one, or end. The lock is held."""
        if len(self._long.running) < self._long.size:
            self._quick.finish(turn, now - turn.since, measure=False)
            self._quick.counts["moved"] += 1
            self._long.adopt(turn, now)
            self._hand_out()
            return
        if not self._quick.waiting:
            return  # nobody waits for it
        again = Turn(turn.client, now)
        try:
            self._join(self._long, again)
        except Busy as busy:
            turn.fate = busy
        else:
            turn.next = again

    # --- state for others

    def place_of(self, ticket: str) -> Place | None:
        """Return the place of a ticket in the queue; None if it does not wait."""
        self.start()
        with self._lock:
            waiting = self._long.waiting
            for place, turn in enumerate(waiting, 1):
                if turn.client.ticket == ticket:
                    return Place(place, len(waiting), self._long.seconds_for(place))
            if any(turn.client.ticket == ticket for turn in self._long.running):
                return Place(0, len(waiting), 0)
        return None

    def state(self) -> PoolState:
        """Return the numbers of the pool."""
        self.start()
        with self._lock:
            return PoolState(
                self._quick.state(), self._long.state(), len(self._idle), self._starting
            )


def _outcome(turn: Turn, reply: Reply | None) -> str:
    """Return the outcome of a turn, as in the counters."""
    if turn.next is not None:
        return "moved"
    if turn.fate is not None:
        return turn.fate.outcome
    match reply:
        case Done() | Misunderstood():
            return "done"
        case OutOfMemory():
            return TooMuch.outcome
    return JobFault.outcome


def _answer_in(reply: Reply | None) -> Any:
    match reply:
        case Done(answer):
            return answer
        case Misunderstood(why):
            raise UnusableWish(why)
        case OutOfMemory():
            raise TooMuch
        case None:
            raise JobFault("a turn without a reply")
    raise JobFault(reply.where)
