"""Time budgets of the test folders: compares ``budgets.toml`` with the processor time of a run.

A budget fails no test, because machines differ. It is the processor time in seconds of all tests
of one folder, with the programs that they start; waiting costs nothing.
"""

from __future__ import annotations

import tomllib
from collections import Counter, defaultdict
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import pytest

HERE = Path(__file__).parent
BUDGETS: dict[str, int] = tomllib.loads((HERE / "budgets.toml").read_text("utf-8"))["seconds"]


SECONDS = "processor_seconds"
"""Property of each test's last report: the processor time of the test, in seconds."""


def table(reports: Iterable[pytest.TestReport]) -> Iterator[str]:
    """Yield the lines of a table: each folder, its number of tests, its seconds and its budget."""
    tests: Counter[str] = Counter()
    seconds: defaultdict[str, float] = defaultdict(float)
    for report in reports:
        folder = folder_of(report.nodeid)
        seconds[folder] += dict(report.user_properties).get(SECONDS, 0.0)
        tests[folder] += report.when == "call"
    yield f"{'folder':<12}{'tests':>7}{'seconds':>9}{'budget':>8}"
    for folder in sorted(seconds):
        yield row(folder, tests[folder], seconds[folder], BUDGETS.get(folder))
    yield row("all", tests.total(), sum(seconds.values()), sum(BUDGETS.values()))


def folder_of(nodeid: str) -> str:
    """Return the name of the folder below ``tests`` that holds a test."""
    parts = nodeid.partition("::")[0].split("/")
    return parts[parts.index("tests") + 1] if "tests" in parts[:-2] else parts[0]


def row(name: str, tests: int, seconds: float, budget: int | None) -> str:
    """Return one line of the table, with a mark if over budget or without a budget."""
    over = " no budget" if budget is None else " OVER" if seconds > budget else ""
    return f"{name:<12}{tests:>7}{seconds:>9.1f}{budget if budget is not None else '-':>8}{over}"
