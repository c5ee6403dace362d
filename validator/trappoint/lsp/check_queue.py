"""Checks done one after another on a thread of their own, while the editor is being answered."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


class CheckQueue:
    """Does the last job that was asked for under each name; an older one that waits is dropped.

    The thread ends with the program, whatever it is doing: nobody waits for a check any more.
    """

    def __init__(self) -> None:
        self._waiting: dict[str, Callable[[], None]] = {}
        self._asked = threading.Condition()
        self._thread: threading.Thread | None = None

    def ask(self, name: str, job: Callable[[], None]) -> None:
        """Have a job done after those that were asked for before."""
        with self._asked:
            self._waiting.pop(name, None)
            self._waiting[name] = job
            self._asked.notify()
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name="checks", daemon=True)
                self._thread.start()

    def drop(self, name: str) -> None:
        """Forget a job, if it has not begun."""
        with self._asked:
            self._waiting.pop(name, None)

    def _work(self) -> None:
        while True:
            with self._asked:
                while not self._waiting:
                    self._asked.wait()
                job = self._waiting.pop(next(iter(self._waiting)))
            job()
