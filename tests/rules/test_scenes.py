"""Scenes: arms that conflict though their routes share no track, and who prevents it."""

from __future__ import annotations

import json
from typing import Any

from oracle.cases import a_plan
from rules.plans import example_text
from trappoint import check


def test_arms_back_to_back_are_not_off_together_in_a_scene() -> None:
    """Both are at one bare joint and give leave to run away from it, so they share no place."""
    plan = a_plan(
        {"west": "edge:w joint:j", "east": "joint:j edge:e"}, {"1": "west down", "2": "east up"}
    )
    plan["scenes"] = {"both": {"off": ["1", "2"]}}
    found = [each for each in check(json.dumps(plan)).findings if "scene" in each.rule]
    assert [(each.rule, each.pointer) for each in found] == [
        ("scene-arms-conflict", "/scenes/both/off/1")
    ]


def test_one_of_them_may_be() -> None:
    plan = a_plan(
        {"west": "edge:w joint:j", "east": "joint:j edge:e"}, {"1": "west down", "2": "east up"}
    )
    plan["scenes"] = {"one": {"off": ["1"]}}
    assert [each for each in check(json.dumps(plan)).findings if "scene" in each.rule] == []


def test_without_levers_you_must_see_to_it() -> None:
    """Only levers have a locking that can prevent a wrong scene."""
    scene = {"noon": {"off": ["1L"]}}
    plan = json.loads(example_text({"scenes": scene}))
    assert why(plan).endswith("You must see to it: the layout has no levers.")
    plan["levers"] = {"1": {"arms": ["1L"]}, "2": {"points": ["p1"]}}
    assert why(plan).endswith("The locking sees to it.")


def why(plan: dict[str, Any]) -> str:
    rule = "scene-arm-against-points"
    (found,) = [each for each in check(json.dumps(plan)).findings if each.rule == rule]
    return found.why
