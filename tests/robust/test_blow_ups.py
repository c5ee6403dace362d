"""Documents built to blow up end soon, in little memory, with a finding and without a fault.

Each is checked in a process of its own, so that what one takes is not hidden by another. Seconds
are only asserted by hand (``-m bench``): machines that test for others are slow at times. Else a
limit of processor time, many times what is needed, tells a wait without end.
"""

from __future__ import annotations

import pytest

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
    "10,000 sidings, no signal",
    "10,000 platforms beside one track",
    "100,000 accepted",
    "20,000 ids misspelt",
    "signals 1 and 9...9",
    "8 MiB of [",
    "8 MiB of []",
    "1,000,000 times one key",
    "8 MiB of halves of characters",
)
"""Those that are tried each time: one for each part of the check."""

MAX_SECONDS = 30
"""The processor time after which a check counts as one that does not end."""


def looked_at(name: str) -> float:
    """Check one document, hold what came of it to what must, and return the seconds it took."""
    found = alone(name, most_seconds=MAX_SECONDS)
    assert found.ended, found.why
    assert found.fault is None
    assert found.mib <= MAX_MIB
    wanted = BLOW_UPS[name].rule
    assert wanted is None or wanted in found.rules
    return found.seconds


@pytest.mark.parametrize("name", SHORT)
def test_ends_in_little_memory(name: str) -> None:
    looked_at(name)


@pytest.mark.bench
@pytest.mark.parametrize("name", BLOW_UPS)
def test_ends_in_time(name: str) -> None:
    # A machine that does other things beside gets half as many seconds again, since its processor
    # counts what it waits for memory.
    assert looked_at(name) <= 1.5 * BLOW_UPS[name].seconds


@pytest.mark.bench
@pytest.mark.parametrize("name", BLOW_UPS)
def test_the_table_ends_too(name: str) -> None:
    found = alone(name, table=True, most_seconds=60)
    assert found.ended, found.why
    assert found.mib <= 2 * MAX_MIB
