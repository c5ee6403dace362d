"""Scenes: arms that conflict though their roads have no track in common."""

from __future__ import annotations

import json

from oracle.cases import a_plan
from trappoint import check


def test_arms_back_to_back_are_not_off_together_in_a_scene() -> None:
    """Both stand at one bare joint, and give leave to run away from it: no place is shared."""
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
