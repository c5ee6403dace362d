"""How far a long check has come: one line on a terminal, gone when there is something to say."""

from __future__ import annotations

import os
import sys
import time
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    T = TypeVar("T")

PATIENCE = 1.0
"""Seconds after which somebody who waits is told that there is progress."""

_ERASE = "\r\x1b[K"
"""Back to the first column, and erase to the end of the line (ECMA-48, EL)."""


def show_progress(outcomes: Iterable[T], total: int) -> Iterator[T]:
    """Pass on what comes, and show on standard error how much has come.

    Nothing is shown unless standard error is a terminal that can erase a line, there is more than
    one thing to wait for, and ``PATIENCE`` is over. The line is erased before anything is passed
    on, so that it never stands in what others print.
    """
    if total < 2 or not _can_erase():
        yield from outcomes
        return
    start = time.monotonic()
    shown = False
    try:
        for done, outcome in enumerate(outcomes, 1):
            if shown:
                _write(_ERASE)
                shown = False
            yield outcome
            if done < total and time.monotonic() - start >= PATIENCE:
                shown = _write(f"{done} of {total} plans checked")
    finally:
        if shown:
            _write(_ERASE)


def _can_erase() -> bool:
    return (
        sys.stderr is not None
        and sys.stderr.isatty()
        and os.environ.get("TERM", "") not in ("", "dumb")
    )


def _write(text: str) -> bool:
    """Write to standard error, after all that was printed; tell whether it was taken."""
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
        sys.stderr.write(text)
        sys.stderr.flush()
    except (OSError, ValueError):
        return False
    return True
