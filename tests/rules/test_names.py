"""Messages name things as people do, with the id to type; fixes give the id."""

from __future__ import annotations

from typing import Any

import pytest

from rules.plans import example_text
from trappoint import Report, check

NAMED: dict[str, Any] = {
    "tracks": {
        "siding": {"name": "Coal siding"},
        "loop-west": {"name": "Goods loop"},
        "town-line": {"name": "Line from town"},
    },
    "signals": {"1": {"name": "Home"}, "4": {"name": "Loop starter"}},
    "platforms": {"A": {"name": "Island platform"}},
}


def report(**changes: Any) -> Report:
    """Return the report on the demonstration plan with names and these changes."""
    patch = {key: dict(values) for key, values in NAMED.items()}
    for key, values in changes.items():
        for id_, value in values.items():
            old = patch.setdefault(key, {}).get(id_)
            patch[key][id_] = {**old, **value} if old and value is not None else value
    return check(example_text(patch))


def message(found: Report, rule: str) -> tuple[str, str, str]:
    finding = next(each for each in found.findings if each.rule == rule)
    return finding.message, finding.why, finding.fix


def test_the_movement_and_the_fix_of_an_unheld_exit() -> None:
    text, why, fix = message(report(signals={"6": None}), "unheld-exit")
    assert text == (
        "Nothing stops a train in Coal siding (siding), running up, before Goods loop (loop-west), "
        "where another train may be."
    )
    assert why.endswith(
        "How they meet: train A stands in Coal siding (siding), train B in Goods loop (loop-west). "
        "A sets off up. A runs to p3, Goods loop (loop-west). Both are in Goods loop (loop-west)."
    )
    assert fix == "Put a stop signal for up trains on siding, at its up end."


@pytest.mark.parametrize(
    ("changes", "rule", "expected"),
    [
        (
            {"signals": {"4": {"arms": [{"id": "4R", "to": "quarry-line"}]}}},
            "route-without-arm",
            "No arm of Loop starter (4) gives leave for the route from Goods loop (loop-west) to "
            "Coal siding (siding).",
        ),
        (
            {"signals": {"1": {"at_mm": 5000}}, "tracks": {"town-line": {"length_mm": 2000}}},
            "signal-off-its-track",
            "Home (1) is 5,000 mm from the up end of Line from town (town-line), which is only "
            "2,000 mm long.",
        ),
        (
            {"signals": {"1": {"arms": [{"id": "1L", "to": "loop-west"}]}, "7": None}},
            "platform-without-home",
            "Island platform (A) has no home signal: no arm gives leave to run in to main.",
        ),
        (
            {"signals": {"1": {"arms": [{"id": "1L", "to": "main"}, {"id": "1R", "to": "main"}]}}},
            "two-arms-for-one-route",
            "Arms 1L and 1R of Home (1) give leave for the same route from Line from town "
            "(town-line) to main.",
        ),
    ],
)
def test_messages(changes: dict[str, Any], rule: str, expected: str) -> None:
    assert message(report(**changes), rule)[0] == expected
