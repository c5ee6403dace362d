"""The check of documents built to blow up ends soon, in little memory, without internal errors.

Each document is checked in a separate process, so that one does not hide the memory of another.
Only runs by hand (``-m bench``) assert seconds: shared machines are slow at times. Other runs have
a generous limit of processor time, which stops a check that never ends.
"""

from __future__ import annotations

import pytest

from amount import is_long
from robust.blow_ups import BLOW_UPS
from robust.measure import MAX_MIB, alone

SHORT = (
    "slips, 2^40 roads",
    "loops, 2^40 roads",
    "loops, 2^60 roads to a limit",
    "loops, 2^40 tries to a clash",
    "fans of 64 roads",
    "fans of 4,096 roads, no signal",
    "turntable, 10,000 roads",
    "100,000 signals on one spot",
    "100,000 signals along one track",
    "3,000 signals each against each",
    "single line of 4,000 tracks",
    "10,000 platforms beside one track",
    "100,000 accepted",
    "20,000 ids misspelt",
    "signals 1 and 9...9",
    "8 MiB of [",
    "8 MiB of []",
    "1,000,000 times one key",
    "8 MiB of halves of characters",
)
"""The documents tried in every run: one for each part of the check."""

LONG = (*SHORT, "10,000 sidings, no signal")
"""The documents tried with ``--long``."""

MAX_SECONDS = 30
"""Limit of processor time in seconds, after which a check counts as endless."""


def looked_at(name: str) -> float:
    """Check one document, assert its rule and its memory, and return its seconds."""
    found = alone(name, most_seconds=MAX_SECONDS)
    assert found.ended, found.why
    assert found.fault is None
    assert found.mib <= MAX_MIB
    wanted = BLOW_UPS[name].rule
    assert wanted is None or wanted in found.rules
    return found.seconds


@pytest.mark.parametrize("name", LONG if is_long() else SHORT)
def test_ends_in_little_memory(name: str) -> None:
    looked_at(name)


@pytest.mark.bench
@pytest.mark.parametrize("name", BLOW_UPS)
def test_ends_in_time(name: str) -> None:
    # A busy machine gets half as much time again: waits for memory count as processor time.
    assert looked_at(name) <= 1.5 * BLOW_UPS[name].seconds


@pytest.mark.bench
@pytest.mark.parametrize("name", BLOW_UPS)
def test_the_table_ends_too(name: str) -> None:
    found = alone(name, table=True, most_seconds=60)
    assert found.ended, found.why
    assert found.mib <= 2 * MAX_MIB
