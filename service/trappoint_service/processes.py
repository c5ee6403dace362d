"""One worker process: its start, its jobs, its end."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from typing import TYPE_CHECKING, Any

from trappoint_service.messages import receive, send

if TYPE_CHECKING:
    from trappoint_service.config import Config
    from trappoint_service.jobs import Job
    from trappoint_service.messages import Reply

START_SECONDS = 60.0
"""Seconds that a process may take to start."""


class ProcessDied(Exception):  # noqa: N818 - it describes the failure
    """Raised if the process ended without an answer."""

    def __init__(self, code: int) -> None:
        super().__init__()
        self.code = code
        """The exit code; negative: the signal that ended it."""


class Process:
    """A process that does one job at a time."""

    def __init__(self, config: Config) -> None:
        self._config = config
        self._process: subprocess.Popen[bytes] | None = None
        self._lock = threading.Lock()
        self._closed = False

    @property
    def pid(self) -> int | None:
        """The id of the process, None if there is none."""
        return None if self._process is None else self._process.pid

    @property
    def alive(self) -> bool:
        """Whether the process has been started, and has not ended."""
        return self._process is not None and self._process.poll() is None

    def worked_seconds(self) -> float:
        """Return its processor time in seconds, or the clock time if that is unknown.

        On a busy machine a quick job takes long, but is still a quick one.
        """
        try:
            with open(f"/proc/{self.pid}/stat", encoding="ascii") as file:  # noqa: PTH123
                fields = file.read().rpartition(")")[2].split()
            return sum(int(ticks) for ticks in fields[11:13]) / os.sysconf("SC_CLK_TCK")
        except (OSError, ValueError, AttributeError):
            return time.monotonic()

    def start(self) -> None:
        """Start it, and wait until it is ready. Raises OSError and ProcessDied."""
        self.end()
        # -P: no file in the current folder may replace a module.
        words = [sys.executable, "-P", "-m", "trappoint_service.worker"]
        limits = [str(self._config.memory_mb), str(self._config.deadline_seconds)]
        with self._lock:
            if self._closed:
                raise ProcessDied(0)
            self._process = subprocess.Popen(  # noqa: S603 - these words are all ours
                [*words, *limits, self._config.settings],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,  # it could quote the plan
            )
        late = threading.Timer(START_SECONDS, self.kill)
        late.daemon = True
        late.start()
        try:
            self._talk(None)
        finally:
            late.cancel()

    def ask(self, job: Job[Any]) -> Reply:
        """Run a job. Raises ProcessDied, also if it is killed meanwhile."""
        reply: Reply = self._talk(job)
        return reply

    def _talk(self, job: Job[Any] | None) -> Any:
        """Send a job, if there is one, and return the reply."""
        process = self._process
        if process is None or process.stdin is None or process.stdout is None:
            raise ProcessDied(0)
        try:
            if job is not None:
                send(process.stdin, job)
            return receive(process.stdout)
        except (OSError, EOFError, ValueError):
            raise ProcessDied(_code(process)) from None

    def kill(self) -> None:
        """Kill it; the thread that waits for its answer gets ProcessDied."""
        process = self._process
        if process is not None:
            process.kill()

    def end(self, *, gently: bool = False) -> None:
        """End it, and wait until it is gone."""
        with self._lock:
            process, self._process = self._process, None
        if process is None:
            return
        if not gently:
            process.kill()
        for stream in (process.stdin, process.stdout):
            if stream is not None:
                try:
                    stream.close()
                except OSError:  # unsent bytes to a process that has ended
                    continue
        _code(process)

    def close(self) -> None:
        """End it, and never start it again."""
        with self._lock:
            self._closed = True
        self.end()


def _code(process: subprocess.Popen[bytes]) -> int:
    """Return the exit code of a process that is about to end."""
    try:
        return process.wait(5)
    except subprocess.TimeoutExpired:
        process.kill()
        return process.wait()
