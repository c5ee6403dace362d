"""Fixes name only things of the plan; the pages of rules have sources and cautions."""

from __future__ import annotations

import json
import re
from functools import cache

import pytest

from rules.fix_names import unknown_names
from rules.plans import DEMONSTRATION, example_text
from rules.test_rules import ids, report_on
from trappoint.core.findings import Finding
from trappoint.core.resources import read_resource
from trappoint.rules.catalogue import all_rules
from trappoint.rules.rule import Assembled, Rule

RULES = [rule for rule in all_rules() if rule.stage not in ("reading", "form")]
"""Rules with fixes about things; the fixes of the other rules are about the text."""


@cache
def findings(rule: Rule) -> tuple[Finding, ...]:
    """Return the findings on the failing example of a rule."""
    return tuple(report_on(rule, rule.fails).findings)


@pytest.mark.parametrize("rule", RULES, ids=ids)
def test_a_fix_names_only_what_the_plan_has(rule: Rule) -> None:
    example = rule.fails
    plans = [json.loads(example_text(example))]
    if isinstance(example, Assembled):
        plans += [*example.boards.values(), json.loads(read_resource(DEMONSTRATION))]
        plans += [{"paths": [path.removesuffix(".layout.json") for path in example.boards]}]
        plans += [prefixed(name, plan) for name in example.plan["boards"] for plan in plans[1:3]]
    found = findings(rule)
    assert [(each.fix, unknown_names(each.fix, *plans)) for each in found] == [
        (each.fix, []) for each in found
    ]


IMPERATIVE = re.compile(
    "(With two-rail supply, isolate|Add|Begin|Change|Check|Choose|Correct|Divide|Give|Hold|Join"
    "|Keep|List|Make|Move|Name|Number|Put|Reduce|Remove|Set|Shorten|Take|Turn|Write) "
)


@pytest.mark.parametrize("rule", RULES, ids=ids)
def test_a_fix_is_an_imperative(rule: Rule) -> None:
    own = [each.fix for each in findings(rule) if each.rule == rule.id]
    assert [fix for fix in own if not IMPERATIVE.match(fix) or not fix.endswith((".", ".)"))] == []


def prefixed(board: str, plan: dict[str, object]) -> list[str]:
    """Return the ids of the tracks of a board as the assembled plan has them."""
    tracks = plan.get("tracks", {})
    return [f"{board}/{id_}" for id_ in (tracks if isinstance(tracks, dict) else ())]


def test_a_name_from_nowhere_would_be_noticed() -> None:
    plan = json.loads(read_resource(DEMONSTRATION))
    assert unknown_names("Take p9 out of the list.", plan) == ["p9"]
    assert unknown_names('For instance: "12".', plan) == ["12"]
    assert unknown_names("Give `colour` a value.", plan) == ["colour"]
    assert unknown_names("Change the normal lie of p1 or p99.", plan) == ["p99"]
    assert unknown_names('Add "12" to it. Then move p99.', plan) == ["p99"]
    assert unknown_names("Shorten loop-west.", {"tracks": {}}) == ["loop-west"]


def test_names_of_the_plan_and_of_the_format_and_new_ones_are_right() -> None:
    plan = json.loads(read_resource(DEMONSTRATION))
    assert unknown_names("Take p1 out of `worked_together`, or change p1.left.", plan) == []
    assert unknown_names('Write "12", or add a new lever 14.', plan) == []
    assert unknown_names("Put it 1,450 mm farther back; run `trappoint road`.", plan) == []


@pytest.mark.parametrize("words", ["from memory", "not looked up", "copy seen"])
def test_a_rule_page_gives_sources_and_not_how_we_came_by_them(words: str) -> None:
    pages = {
        rule.id: f"{rule.summary} {rule.why} {rule.source} {rule.caution}" for rule in all_rules()
    }
    assert [id_ for id_, page in pages.items() if words in page] == []


def test_advice_on_wiring_and_drilling_has_its_caution() -> None:
    cautions = {rule.id: rule.caution for rule in all_rules() if rule.caution}
    assert {id_ for id_, caution in cautions.items() if "extra-low voltage" in caution} == {
        "reversing-loop"
    }
    assert {id_ for id_, caution in cautions.items() if "Before you drill" in caution} == {
        "no-room-between-tracks",
        "post-too-near-track",
        "signal-foul-of-points",
    }
    loop = next(rule for rule in all_rules() if rule.id == "reversing-loop")
    (finding,) = [f for f in findings(loop) if f.rule == loop.id]
    assert "extra-low voltage only" in finding.fix
