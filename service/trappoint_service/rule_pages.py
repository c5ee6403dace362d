"""The pages of the rules, from the documentation of each rule."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any

from trappoint.core.resources import read_resource
from trappoint.reporting.examples import tell_example
from trappoint.rules.catalogue import all_rules

if TYPE_CHECKING:
    from trappoint.rules.rule import Example, Rule

STAGES = {
    "reading": "Reading the text",
    "form": "The form of a plan",
    "boards": "Plans put together from boards",
    "plan": "The plan as written",
    "facts": "Routes, locking and dimensions",
    "last": "Accepted findings",
    "store": "Stores of parts",
}
"""From each stage to its heading."""


@cache
def rules_by_stage() -> list[tuple[str, list[Rule]]]:
    """Return the rules under the heading of their stage."""
    found = []
    for stage, heading in STAGES.items():
        rules = [rule for rule in all_rules() if rule.stage == stage]
        if rules:
            found.append((heading, rules))
    return found


@cache
def about_rule(name: str) -> dict[str, Any] | None:
    """Return the content of a rule's page; None if there is no such rule."""
    rule = next((rule for rule in all_rules() if rule.id == name), None)
    if rule is None:
        return None
    return {
        "id": rule.id,
        "level": rule.level,
        "stage": STAGES[rule.stage],
        "summary": rule.summary,
        "why": rule.why,
        "source": rule.source,
        "caution": rule.caution,
        "optional": rule.optional,
        "fixed": rule.fixed,
        "fails": _example(rule, rule.fails),
        "passes": _example(rule, rule.passes),
    }


def _example(rule: Rule, example: Example) -> dict[str, str]:
    about, shown = tell_example(example)
    plan = "" if rule.stage == "store" else _plan(example)
    return {"about": about[0].upper() + about[1:], "shown": shown, "plan": plan}


def _plan(example: Example) -> str:
    """Return the whole text of an example; empty if it is not a plan."""
    if isinstance(example, str):
        return example
    if not isinstance(example, Mapping):
        return ""
    plan = json.loads(read_resource("kelpie-quay.layout.json"))
    return json.dumps(_merged(plan, example), indent=2, ensure_ascii=False)


def _merged(target: object, patch: object) -> object:
    """Apply a JSON merge patch (RFC 7396, section 2)."""
    if not isinstance(patch, Mapping):
        return patch
    merged = dict(target) if isinstance(target, Mapping) else {}
    for key, value in patch.items():
        if value is None:
            merged.pop(key, None)
        else:
            merged[key] = _merged(merged.get(key), value)
    return merged
