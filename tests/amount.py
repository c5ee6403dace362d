"""The number of plans that a test tries: a sample, or many more with ``pytest --long``."""

from __future__ import annotations

import os

VARIABLE = "TRAPPOINT_LONG_TESTS"
"""Environment variable that ``--long`` sets, so that child processes inherit it."""


def is_long() -> bool:
    """Return whether this is a long run."""
    return VARIABLE in os.environ


def amount(sample: int, *, long: int) -> int:
    """Return ``long`` in a long run, ``sample`` in any other."""
    return long if is_long() else sample
