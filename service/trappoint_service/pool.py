"""Processes that check plans: a few, each ended and replaced where it takes too long.

A check runs in a process of its own because a thread cannot be stopped. Each request waits a
little for a free process; where none becomes free it is turned away, so that the service stays
quick for those that it serves.
"""

from __future__ import annotations

import os
import queue
import subprocess
import sys
import threading
from typing import TYPE_CHECKING, Any

from trappoint_service.jobs import UnusableWish
from trappoint_service.messages import Done, Misunderstood, OutOfMemory, receive, send

if TYPE_CHECKING:
    from trappoint_service.config import Config
    from trappoint_service.jobs import A, Job
    from trappoint_service.messages import Reply


class Busy(Exception):  # noqa: N818 - it names what was met
    """No process became free in time."""


class JobTooLong(Exception):  # noqa: N818
    """The job took longer than its deadline, and was ended."""


class TooMuch(Exception):  # noqa: N818
    """The job wanted more memory than it may have."""


class JobFault(Exception):  # noqa: N818
    """The job failed by a fault of the program. The message holds nothing of the document."""


START_SECONDS = 60.0
"""How long a process may take until it is ready for its first job."""


class _Worker:
    """One process, started when it is first needed."""

    def __init__(self, config: Config) -> None:
        self._config = config
        self._process: subprocess.Popen[bytes] | None = None
        self._ready = False

    def start(self) -> subprocess.Popen[bytes]:
        """Return the process; start it where there is none. It is not waited for."""
        if self._process is None or self._process.poll() is not None:
            self.end()
            # -P: nothing that lies in the current folder may stand in for a module.
            words = [sys.executable, "-P", "-m", "trappoint_service.worker"]
            limits = [str(self._config.memory_mb), str(self._config.deadline_seconds)]
            self._process = subprocess.Popen(  # noqa: S603 - these words are all ours
                [*words, *limits, self._config.settings],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,  # it could tell something of the document
            )
        return self._process

    def ask(self, job: Job[A]) -> A:
        """Have a job done. Raises JobTooLong, TooMuch, JobFault or UnusableWish."""
        process = self.start()
        if not self._ready:
            try:
                self._talk(process, None, START_SECONDS)
            except (JobTooLong, TooMuch):
                raise JobFault("a process that does not start") from None
            self._ready = True
        try:
            reply: Reply = self._talk(process, job, self._config.deadline_seconds)
        except (JobTooLong, TooMuch):
            self.start()  # so that the next request finds it ready, or nearly so
            raise
        if reply.last:
            self.end(gently=True)
            self.start()
        answer: A = _answer_in(reply)
        return answer

    def _talk(
        self,
        process: subprocess.Popen[bytes],
        job: Job[Any] | None,
        seconds: float,
    ) -> Any:
        """Send a job, if there is one, and return the reply; end the process where it is late."""
        late = threading.Event()

        def give_up() -> None:
            late.set()
            process.kill()

        timer = threading.Timer(seconds, give_up)
        timer.daemon = True
        timer.start()
        try:
            if process.stdin is None or process.stdout is None:
                raise EOFError
            if job is not None:
                send(process.stdin, job)
            reply = receive(process.stdout)
        except (OSError, EOFError, ValueError):
            self.end()
            if late.is_set():
                raise JobTooLong from None
            # Ended by the system, most likely because there was no memory left.
            raise TooMuch from None
        finally:
            timer.cancel()
        return reply

    def end(self, *, gently: bool = False) -> None:
        """End the process, and wait until it is gone."""
        process, self._process, self._ready = self._process, None, False
        if process is None:
            return
        if not gently:
            process.kill()
        for stream in (process.stdin, process.stdout):
            if stream is not None:
                try:
                    stream.close()
                except OSError:  # what was still to be written to a process that is gone
                    continue
        try:
            process.wait(5)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _answer_in(reply: Reply) -> Any:
    match reply:
        case Done(answer):
            return answer
        case Misunderstood(why):
            raise UnusableWish(why)
        case OutOfMemory():
            raise TooMuch
    raise JobFault(reply.where)


class Pool:
    """A few processes, and the order in which requests come to them."""

    def __init__(self, config: Config) -> None:
        self._config = config
        self._lock = threading.Lock()
        self._owner = 0
        self._all: list[_Worker] = []
        self._free: queue.LifoQueue[_Worker] = queue.LifoQueue()

    @property
    def seconds_to_search(self) -> float:
        """How long a job may look for the best: half of the time that it may take.

        What is found by then is told with how far it may be off.
        """
        return self._config.deadline_seconds / 2

    def start(self) -> None:
        """Start the processes, so that the first request need not wait for them."""
        self._own()
        for worker in self._all:
            worker.start()

    def run(self, job: Job[A]) -> A:
        """Have a job done by a free process.

        Raises Busy, JobTooLong, TooMuch, JobFault or UnusableWish.
        """
        self._own()
        try:
            worker = self._free.get(timeout=self._config.wait_seconds or 0.001)
        except queue.Empty:
            raise Busy from None
        try:
            return worker.ask(job)
        finally:
            self._free.put(worker)

    def close(self) -> None:
        """End all processes."""
        if self._owner == os.getpid():
            for worker in self._all:
                worker.end()

    def _own(self) -> None:
        """Make processes of our own: a server that forks must not share them."""
        with self._lock:
            if self._owner != os.getpid():
                self._owner = os.getpid()
                self._all = [_Worker(self._config) for _ in range(self._config.workers)]
                self._free = queue.LifoQueue()
                for worker in reversed(self._all):
                    self._free.put(worker)
