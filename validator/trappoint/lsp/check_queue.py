"""A thread that runs checks one after another, while other threads answer the editor."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


class CheckQueue:
    """Runs the latest job of each name; it replaces an older one that still waits.

    The thread ends with the program, also in the middle of a check.
    """

    def __init__(self) -> None:
        self._waiting: dict[str, Callable[[], None]] = {}
        self._asked = threading.Condition()
        self._thread: threading.Thread | None = None

    def ask(self, name: str, job: Callable[[], None]) -> None:
        """Add a job to the end of the queue."""
        with self._asked:
            self._waiting.pop(name, None)
            self._waiting[name] = job
            self._asked.notify()
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name="checks", daemon=True)
                self._thread.start()

    def drop(self, name: str) -> None:
        """Drop a job that has not begun."""
        with self._asked:
            self._waiting.pop(name, None)

    def _work(self) -> None:
        while True:
            with self._asked:
                while not self._waiting:
                    self._asked.wait()
                job = self._waiting.pop(next(iter(self._waiting)))
            job()
