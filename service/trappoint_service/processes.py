"""One process that does jobs: started, asked, ended."""

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
"""How long a process may take until it is ready for its first job."""


class ProcessDied(Exception):  # noqa: N818 - it names what was met
    """The process ended before it had answered."""

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
        """Return the processor time that it has had, or the time where that is unknown.

        On a busy machine a quick job takes long, and is a quick one still.
        """
        try:
            with open(f"/proc/{self.pid}/stat", encoding="ascii") as file:  # noqa: PTH123
                fields = file.read().rpartition(")")[2].split()
            return sum(int(ticks) for ticks in fields[11:13]) / os.sysconf("SC_CLK_TCK")
        except (OSError, ValueError, AttributeError):
            return time.monotonic()

    def start(self) -> None:
        """Start it, and wait until it can take jobs. Raises OSError and ProcessDied."""
        self.end()
        # -P: nothing that lies in the current folder may stand in for a module.
        words = [sys.executable, "-P", "-m", "trappoint_service.worker"]
        limits = [str(self._config.memory_mb), str(self._config.deadline_seconds)]
        with self._lock:
            if self._closed:
                raise ProcessDied(0)
            self._process = subprocess.Popen(  # noqa: S603 - these words are all ours
                [*words, *limits, self._config.settings],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,  # it could tell something of the document
            )
        late = threading.Timer(START_SECONDS, self.kill)
        late.daemon = True
        late.start()
        try:
            self._talk(None)
        finally:
            late.cancel()

    def ask(self, job: Job[Any]) -> Reply:
        """Have a job done. Raises ProcessDied, also when it is killed meanwhile."""
        reply: Reply = self._talk(job)
        return reply

    def _talk(self, job: Job[Any] | None) -> Any:
        """Send a job, if there is one, and return what the process sends."""
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
        """Kill it; who waits for its answer gets ProcessDied."""
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
                except OSError:  # what was still to be written to a process that is gone
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
