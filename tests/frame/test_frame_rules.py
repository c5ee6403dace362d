"""The rules on the frame, beyond their own examples."""

from __future__ import annotations

from typing import Any

import pytest

from frame.plans import as_layout, junction_1873, with_levers
from rules.plans import example_text
from trappoint import load
from trappoint.core.findings import Finding
from trappoint.facts.facts import Facts
from trappoint.rules.frame import LEVER_UNUSED, MOVED_APART, NOT_ON_A_LEVER, ON_TWO_LEVERS
from trappoint.rules.rule import Rule

FRAME_RULES = (LEVER_UNUSED, ON_TWO_LEVERS, NOT_ON_A_LEVER, MOVED_APART)


def ask(rule: Rule, plan: Any) -> list[Finding]:
    assert rule.check is not None
    return list(rule.check(Facts(as_layout(plan))))


@pytest.mark.parametrize("rule", FRAME_RULES, ids=lambda rule: rule.id)
def test_examples(rule: Rule) -> None:
    assert rule.check is not None
    found = list(rule.check(Facts(load(example_text(rule.fails)))))
    assert [finding.rule for finding in found] == [rule.id]
    assert found[0].level == rule.level
    facts = Facts(load(example_text(rule.passes)))
    assert [f for other in FRAME_RULES if other.check for f in other.check(facts)] == []


def test_an_arm_on_two_levers() -> None:
    plan = junction_1873()
    plan["levers"]["10"] = {"arms": ["3"]}
    found = ask(ON_TWO_LEVERS, plan)
    assert [(f.pointer, f.message) for f in found] == [
        ("/levers/10/arms/0", "Lever 3 already works arm 3.")
    ]


def test_points_worked_together_on_two_levers() -> None:
    plan = junction_1873()
    plan["worked_together"] = [["p5", "p6"]]
    found = ask(ON_TWO_LEVERS, plan)
    assert [f.message for f in found] == ["Lever 5 already works p6."]


def test_three_way_points_may_have_two_levers_but_not_three() -> None:
    plan = junction_1873()
    plan["points"]["p5"]["kind"] = "three-way"
    plan["tracks"]["shed"] = {"up": "p5.middle", "down": "buffer"}
    plan["levers"]["10"] = {"points": ["p5"]}
    assert ask(ON_TWO_LEVERS, plan) == []
    plan["levers"]["11"] = {"points": ["p5"]}
    found = ask(ON_TWO_LEVERS, plan)
    assert [f.message for f in found] == ["Levers 5 and 10 already work p5."]


def test_worked_together_needs_one_lever_only() -> None:
    plan = junction_1873()
    plan["worked_together"] = [["p5", "p6"]]
    del plan["levers"]["6"]
    assert ask(NOT_ON_A_LEVER, plan) == []
    plan["levers"]["5"] = {"points": ["p5", "p6"]}
    assert ask(MOVED_APART, plan) == []
    plan["worked_together"] = []
    assert [f.pointer for f in ask(MOVED_APART, plan)] == ["/levers/5/points"]


def test_without_levers_nothing_is_missed() -> None:
    plan = with_levers(junction_1873(), {})
    assert [f for rule in FRAME_RULES for f in ask(rule, plan)] == []


def test_arms_and_points_without_a_lever_are_named() -> None:
    plan = with_levers(junction_1873(), {"5": {"points": ["p5"]}})
    found = ask(NOT_ON_A_LEVER, plan)
    assert [f.message for f in found][:2] == [
        "Points p6 are on no lever.",
        "Arm 3 is on no lever.",
    ]
    assert len(found) == 8
