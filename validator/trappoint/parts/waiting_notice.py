"""A progress line on a terminal while the solver works."""

from __future__ import annotations

import os
import sys
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

PATIENCE = 1.0
"""Seconds before the line appears."""

_ERASE = "\r\x1b[K"
"""Go to the first column and erase to the end of the line (ECMA-48, EL)."""


@contextmanager
def tell_waiting(words: str, patience: float = PATIENCE) -> Iterator[None]:
    """Show these words and the seconds elapsed on standard error; erase them at the end.

    Show nothing unless standard error is a terminal that can erase a line.
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
