"""Every test folder has a budget of processor time, and a run marks the folders over budget."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from budgets import BUDGETS, HERE, SECONDS, table

WHOLE_RUN = 420
"""Time limit in seconds for a whole run with two workers."""


def test_every_folder_has_one_and_nothing_else() -> None:
    assert list(BUDGETS) == sorted({path.parent.name for path in HERE.glob("*/test_*.py")})


def test_together_they_are_a_whole_run() -> None:
    assert sum(BUDGETS.values()) <= 2 * WHOLE_RUN


def test_what_is_over_is_marked() -> None:
    def report(nodeid: str, when: str, used: float | None = None) -> Any:
        properties = [] if used is None else [(SECONDS, used)]
        return SimpleNamespace(nodeid=nodeid, when=when, user_properties=properties)

    budget = BUDGETS["house"]
    shown = table(
        [
            report("tests/arms/test_kinds.py::test_it", "call"),
            report("tests/arms/test_kinds.py::test_it", "teardown", 0.25),
            report("tests/house/test_readme.py::test_it[a/b]", "call"),
            report("tests/house/test_readme.py::test_it[a/b]", "teardown", budget + 0.5),
            report("tests/new/test_it.py::test_it", "call"),
        ]
    )
    assert [line.split() for line in shown] == [
        ["folder", "tests", "seconds", "budget"],
        ["arms", "1", "0.2", str(BUDGETS["arms"])],
        ["house", "1", f"{budget + 0.5:.1f}", str(budget), "OVER"],
        ["new", "1", "0.0", "-", "no", "budget"],
        ["all", "3", f"{budget + 0.75:.1f}", str(sum(BUDGETS.values()))],
    ]
