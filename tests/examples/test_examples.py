"""Test that the examples hold without findings and that their tables are up to date."""

from __future__ import annotations

import json
from typing import Any

import pytest

import trappoint
from amount import is_long
from examples.folder import (
    EVENING,
    EXAMPLES,
    MEETS,
    PAGE,
    PICTURES,
    PLAN,
    SLIPS,
    TABLES,
    compare,
    names_in,
    printed_table,
    rows_under,
)

NAMES = names_in(EXAMPLES)


def plan_of(name: str) -> dict[str, Any]:
    plan: dict[str, Any] = json.loads((EXAMPLES / f"{name}{PLAN}").read_text("utf-8"))
    return plan


def test_the_page_lists_every_example() -> None:
    rows = rows_under("Plans that hold")
    assert sorted(name.strip("`") for name, _ in rows) == NAMES
    assert all(len(words.split()) > 5 for _, words in rows)


def test_nothing_else_lies_in_the_folder() -> None:
    wanted = {PAGE, SLIPS, MEETS} | {EXAMPLES / f"{name}{PLAN}" for name in NAMES}
    wanted |= {EXAMPLES / f"{name}.table.{ending}" for name in NAMES for ending in TABLES}
    wanted |= {PICTURES, *EXAMPLES.glob("*.chart.html")}  # tested with the pictures
    wanted |= set(EXAMPLES.glob("*.store.json"))  # tested with the parts planner
    wanted |= {EVENING, EXAMPLES / "EVENING.md"}  # tested by test_evening.py
    wanted.add(EXAMPLES / "archive.py")  # tested by test_archive.py
    assert set(EXAMPLES.iterdir()) == wanted


@pytest.mark.parametrize("name", NAMES)
def test_holds_and_is_silent(name: str) -> None:
    report = trappoint.check(EXAMPLES / f"{name}{PLAN}")
    assert report.holds is True
    assert report.findings == ()
    # A plan gives its reason for every finding that it accepts.
    assert all(entry.because for entry in report.layout.accept) if report.layout else False


@pytest.mark.parametrize("ending", TABLES)
@pytest.mark.parametrize("name", NAMES)
def test_its_table_is_as_printed(name: str, ending: str, rewrite: bool) -> None:
    text = printed_table(name, TABLES[ending])
    compare(EXAMPLES / f"{name}.table.{ending}", text, rewrite=rewrite)


@pytest.mark.parametrize("name", NAMES)
def test_no_signal_that_holds_a_standing_train_can_be_spared(name: str) -> None:
    """Removing a signal that holds a standing train makes an example fail the check.

    Exceptions are signals before trap points, which turn a stray train aside, and the signals named
    in the test, each with its reason. Only `--long` removes each signal; otherwise every third.
    """
    spare = {
        "kelpie-quay": set(),
        # 2 lets a second train in on the down line; without 2, trains wait off the plan.
        "selkie-harbour": {"2"},
        # 7 and 13 are a post and the disc at its foot: either of them holds the train alone.
        "boggart-bridge": {"7", "13"},
        "pixie-ring": set(),
        # W5 lets a second train follow the first on the down line, where all trains run one way.
        # J14 keeps the loop apart from the yard beyond it; without J14, one train has both.
        "hobthrush-vale": {"W5", "J14"},
    }
    plan = plan_of(name)
    report = trappoint.check(json.dumps(plan))
    assert report.table is not None
    holding = [
        entry.signal
        for entry in report.table.signals
        if any(duty.startswith("holds ") for duty in entry.duties)
    ]
    assert holding
    if not is_long():
        holding = [id_ for n, id_ in enumerate(holding) if id_ in spare[name] or n % 3 == 0]
    found = set()
    for signal in holding:
        without = _without_beliefs(plan)
        del without["signals"][signal]
        found |= {signal} if trappoint.check(json.dumps(without)).holds is not False else set()
    trapped = {
        id_
        for id_, signal in plan["signals"].items()
        for end, _, leg in [plan["tracks"][signal["track"]][signal["for"]].partition(".")]
        if leg == "toe" and plan["points"][end].get("trap")
    }
    assert found - trapped == spare[name]


def _without_beliefs(plan: dict[str, Any]) -> dict[str, Any]:
    """Return a copy of a plan without the keys that may name an arm."""
    bare: dict[str, Any] = json.loads(json.dumps(plan))
    for key in ("levers", "scenes", "accept"):
        bare.pop(key, None)
    for signal in bare["signals"].values():
        for arm in signal["arms"]:
            for key in ("never_with", "repeats"):
                arm.pop(key, None)
    return bare
