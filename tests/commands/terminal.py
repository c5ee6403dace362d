"""Runs the program on a terminal of its own (a pseudo-terminal), with someone at the keys."""

from __future__ import annotations

import os
import pty
import select
import signal
import time
from pathlib import Path

from warm import PYTHON

CTRL_C = b"\x03"


class Terminal:
    """A process on a pseudo-terminal: standard input, output and errors are all the terminal."""

    def __init__(self, *words: str | Path, env: dict[str, str]) -> None:
        self.seen = b""
        self.process, self.master = pty.fork()
        if self.process == 0:
            # Tests that were started in the background have it ignored, and so would the program.
            signal.signal(signal.SIGINT, signal.SIG_DFL)
            command = [PYTHON, "-m", "trappoint", *map(str, words)]
            os.execve(command[0], command, env)  # noqa: S606 - no shell is wanted

    def read_until(self, wanted: bytes, seconds: float = 60) -> None:
        """Read until this was written."""
        end = time.monotonic() + seconds
        while wanted not in self.seen:
            assert self._read(end), f"{wanted!r} never came: {self.seen!r}"

    def press(self, keys: bytes) -> None:
        """Press keys."""
        os.write(self.master, keys)

    def finish(self, seconds: float = 60) -> int:
        """Read until the last process closes the terminal, and return the exit code."""
        end = time.monotonic() + seconds
        while self._read(end):
            pass
        os.close(self.master)
        _, status = os.waitpid(self.process, 0)
        return os.waitstatus_to_exitcode(status)

    def _read(self, end: float) -> bool:
        ready, _, _ = select.select([self.master], [], [], max(0.0, end - time.monotonic()))
        assert ready, f"nothing more came in time: {self.seen!r}"
        try:
            chunk = os.read(self.master, 65536)
        except OSError:  # how Linux says that the other side is closed
            return False
        self.seen += chunk
        return bool(chunk)
