"""Stopping ``trappoint serve`` by signals, also as process 1."""

from __future__ import annotations

import os
import signal
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import FrameType

ENDING = tuple(
    getattr(signal, name) for name in ("SIGTERM", "SIGINT", "SIGHUP") if hasattr(signal, name)
)
"""Signals that stop the service."""


class Ending:
    """Whether a signal has asked the service to stop. A second signal ends the process at once.

    Its worker processes end when their pipes close.
    """

    def __init__(self) -> None:
        self.asked = False
        self.wake: Callable[[], None] = lambda: None

    def listen(self) -> None:
        """Install the handlers. Signals ignored from the start stay ignored: nohup(1)."""
        for number in ENDING:
            if signal.getsignal(number) is not signal.SIG_IGN:
                signal.signal(number, self._take)

    def _take(self, number: int, frame: FrameType | None) -> None:
        if self.asked:
            os._exit(128 + number)
        self.asked = True
        self.wake()


def leave_process_one() -> None:
    """As process 1, continue in a child; return only there.

    The system gives process 1 all children whose parents have ended, and waits for it to reap
    them. So process 1 does that, passes signals on, and ends as the child does.
    """
    if os.getpid() != 1 or not hasattr(os, "fork"):
        return
    passed = {*ENDING, signal.SIGQUIT, signal.SIGUSR1, signal.SIGUSR2}
    before = signal.pthread_sigmask(signal.SIG_BLOCK, passed)
    child = os.fork()
    if child == 0:
        os.setsid()  # a terminal would send its signals to both
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        return
    for number in passed:
        signal.signal(number, lambda number, frame: os.kill(child, number))
    signal.pthread_sigmask(signal.SIG_SETMASK, before)
    _bury_until_ended(child)


def _bury_until_ended(child: int) -> NoReturn:
    while True:
        ended, status = os.wait()
        if ended == child:
            code = os.waitstatus_to_exitcode(status)
            os._exit(code if code >= 0 else 128 - code)
