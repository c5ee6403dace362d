"""The progress of a long check: one line on a terminal, erased before anything else is printed."""

from __future__ import annotations

import os
import sys
import time
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    T = TypeVar("T")

PATIENCE = 1.0
"""The time before the first line of progress, in seconds."""

_ERASE = "\r\x1b[K"
"""Back to the first column, and erase to the end of the line (ECMA-48, EL)."""


def show_progress(outcomes: Iterable[T], total: int) -> Iterator[T]:
    """Yield the outcomes, and show their number on standard error.

    It is shown only on a terminal that can erase a line, for more than one outcome, and after
    ``PATIENCE``. The line is erased before each outcome, so that it never mixes with other output.
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
    """Write to standard error, after all earlier output; return whether that worked."""
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
        sys.stderr.write(text)
        sys.stderr.flush()
    except (OSError, ValueError):
        return False
    return True
