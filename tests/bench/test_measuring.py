"""The bench can be run, and what it works out from its figures is right."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest

from bench.measuring import TESTS, child, exponent, table


@pytest.mark.parametrize("power", [0.5, 1.0, 1.15, 2.0])
def test_the_exponent_of_a_power_is_its_own(power: float) -> None:
    sizes = [10, 30, 100, 3000]
    assert exponent(sizes, [7 * size**power for size in sizes]) == pytest.approx(power)


def test_one_size_has_no_exponent() -> None:
    assert math.isnan(exponent([10], [1.0]))


def test_a_table_is_markdown() -> None:
    shown = table(["what", "ms"], [["`a`", 0.12345], ["b", 12345.6], ["c", 2000], ["d", math.nan]])
    assert shown.splitlines() == [
        "| what | ms |",
        "| --- | ---: |",
        "| `a` | 0.123 |",
        "| b | 12,346 |",
        "| c | 2,000 |",
        "| d |  |",
    ]


def test_a_part_can_be_run() -> None:
    words = [sys.executable, "-m", "bench", "--quick", "--only", "warm"]
    done = subprocess.run(words, cwd=TESTS, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("Measured on 20")
    assert "\n| whole check | " in done.stdout


def test_the_stages_of_one_size_can_be_measured() -> None:
    found = child("scale", 10)
    assert found["arms"] > 10
    assert all(ms > 0 for ms in found["ms"].values())
    assert list(found["mib"].values()) == sorted(found["mib"].values())


@pytest.mark.parametrize("other", ["obvious", "proof"])
def test_the_other_ways_can_be_measured(other: str) -> None:
    assert min(child("beside", other, 10, seconds=60)) > 0


def test_what_takes_too_long_is_given_up() -> None:
    assert child("beside", "proof", 320, seconds=1) is None
