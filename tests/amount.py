"""How many plans a test takes: a sample in every run, many more with ``pytest --long``."""

from __future__ import annotations

import os

VARIABLE = "TRAPPOINT_LONG_TESTS"
"""What ``--long`` sets for this process and those that it starts."""


def is_long() -> bool:
    """Whether this run takes its time."""
    return VARIABLE in os.environ


def amount(sample: int, *, long: int) -> int:
    """Return how many of something this run takes."""
    return long if is_long() else sample
