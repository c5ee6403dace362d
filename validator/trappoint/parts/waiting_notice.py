"""A word to somebody who waits at a terminal while the solver works."""

from __future__ import annotations

import os
import sys
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

PATIENCE = 1.0
"""Seconds after which something is said."""

_ERASE = "\r\x1b[K"
"""Back to the first column, and erase to the end of the line (ECMA-48, EL)."""


@contextmanager
def tell_waiting(words: str, patience: float = PATIENCE) -> Iterator[None]:
    """Show on standard error that work goes on, and for how long; erased when it is done.

    Nothing is shown unless standard error is a terminal that can erase a line.
    """
    if not _can_erase():
        yield
        return
    done = threading.Event()
    watcher = threading.Thread(target=_watch, args=(done, words, patience), daemon=True)
    watcher.start()
    try:
        yield
    finally:
        done.set()
        watcher.join()


def _watch(done: threading.Event, words: str, patience: float) -> None:
    if done.wait(patience):
        return
    seconds = round(patience)
    try:
        while True:
            sys.stderr.write(f"{_ERASE}{words} ({seconds} s)")
            sys.stderr.flush()
            if done.wait(1.0):
                break
            seconds += 1
        sys.stderr.write(_ERASE)
        sys.stderr.flush()
    except (OSError, ValueError):
        return


def _can_erase() -> bool:
    return (
        sys.stderr is not None
        and sys.stderr.isatty()
        and os.environ.get("TERM", "") not in ("", "dumb")
    )
