"""The examples hold, are silent, and have their tables beside them."""

from __future__ import annotations

import json
from typing import Any

import pytest

import trappoint
from examples.folder import (
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
    wanted.add(EXAMPLES / "archive.py")  # tested by test_archive.py
    assert set(EXAMPLES.iterdir()) == wanted


@pytest.mark.parametrize("name", NAMES)
def test_holds_and_is_silent(name: str) -> None:
    report = trappoint.check(EXAMPLES / f"{name}{PLAN}")
    assert report.holds is True
    assert report.findings == ()
    # Whatever a plan accepts, its reason is written down.
    assert all(entry.because for entry in report.layout.accept) if report.layout else False


@pytest.mark.parametrize("ending", TABLES)
@pytest.mark.parametrize("name", NAMES)
def test_its_table_is_as_printed(name: str, ending: str, rewrite: bool) -> None:
    text = printed_table(name, TABLES[ending])
    compare(EXAMPLES / f"{name}.table.{ending}", text, rewrite=rewrite)


@pytest.mark.parametrize("name", NAMES)
def test_no_signal_that_holds_a_standing_train_can_be_spared(name: str) -> None:
    """An example that holds is no proof of a strict check: each of its holding signals is needed.

    A signal that holds a train on a stand, and whose removal leaves the verdict as it was, stands
    before trap points that turn a stray aside, or is one of those named here with its reason.
    """
    spare = {
        "kelpie-quay": set(),
        # 2 lets a second train in on the down line; without it trains wait off the plan.
        "selkie-harbour": {"2"},
        # 7 and 13 are a post and the disc at its foot: one of them holds the train as well.
        "boggart-bridge": {"7", "13"},
        "pixie-ring": set(),
        # W5 lets a second train follow the first on the down line, where all run one way. J14 keeps
        # the loop apart from the yard beyond it; without it both are one train's.
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
    """A copy of a plan without whatever may name an arm."""
    bare: dict[str, Any] = json.loads(json.dumps(plan))
    for key in ("levers", "scenes", "accept"):
        bare.pop(key, None)
    for signal in bare["signals"].values():
        for arm in signal["arms"]:
            for key in ("never_with", "repeats"):
                arm.pop(key, None)
    return bare


def test_the_terminus_has_what_a_terminus_has() -> None:
    plan = plan_of("selkie-harbour")
    assert len(plan["platforms"]) == 4
    assert set(plan["yards"]) == {"goods", "shed"}
    assert plan["turntables"]
    assert 15 <= len(plan["points"]) <= 30
    assert ["x1", "x2"] in plan["worked_together"]
    assert plan["scenes"]
    assert plan["trains"]


def test_the_club_layout_is_as_large_as_a_club_has() -> None:
    plan = plan_of("hobthrush-vale")
    assert len(plan["points"]) >= 60
    assert sum(len(signal["arms"]) for signal in plan["signals"].values()) >= 100
    assert sum(track.startswith("rear-") and track[-1].isdigit() for track in plan["tracks"]) == 12
    assert plan["crossings"]
    assert len(plan["yards"]) == 4
    assert len(plan["scenes"]) == 2


def test_every_kind_of_element_but_the_slip_is_in_some_example() -> None:
    plans = [plan_of(name) for name in NAMES]
    assert any(p.get("kind") == "three-way" for plan in plans for p in plan["points"].values())
    assert any(p.get("trap") for plan in plans for p in plan["points"].values())
    assert any(plan.get("crossings") for plan in plans)
    assert any(plan.get("turntables") for plan in plans)
    ends = [t[end] for plan in plans for t in plan["tracks"].values() for end in ("up", "down")]
    assert any(end.startswith("joint:") for end in ends)
    assert any("at_mm" in s for plan in plans for s in plan["signals"].values())
