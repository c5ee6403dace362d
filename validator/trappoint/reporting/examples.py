"""The examples of rules as text: a change of the demonstration plan, a document, or bytes."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from trappoint.rules.rule import Assembled

if TYPE_CHECKING:
    from trappoint.rules.rule import Example, Rule

DEMONSTRATION = "Kelpie Quay"
"""The plan on which changes are examples."""


def tell_example(example: Example) -> tuple[str, str]:
    """Return what an example is, in words that go on a sentence, and its text, if there is one."""
    if isinstance(example, Assembled):
        beside = f"{DEMONSTRATION}, the demonstration plan (kelpie-quay.layout.json)"
        return f"these files, with {beside}, beside them:", _files(example)
    if callable(example):
        about = example.__doc__ or "A text too long to be shown."
        return about[0].lower() + about[1:], ""
    if isinstance(example, str):
        return "this text:", example
    if isinstance(example, bytes):
        return "these bytes, odd ones written as \\x..:", ascii(example)[2:-1]
    if not example:
        return f"{DEMONSTRATION}, the demonstration plan, as it stands.", ""
    return (
        f"{DEMONSTRATION}, the demonstration plan, with this change (a JSON merge patch, RFC "
        "7396: null takes a key out):",
        json.dumps(example, indent=2),
    )


def _files(example: Assembled) -> str:
    """Return the files of an example, each under its name."""
    files = {"plan.layout.json": example.plan, **example.boards}
    return "\n\n".join(f"{name}\n{json.dumps(plan, indent=2)}" for name, plan in files.items())


def rule_to_json(rule: Rule) -> dict[str, Any]:
    """Return all there is to know about a rule as plain values."""
    return {
        "rule": rule.id,
        "level": rule.level,
        "stage": rule.stage,
        "summary": rule.summary,
        "why": rule.why,
        "source": rule.source,
        **({"caution": rule.caution} if rule.caution else {}),
        "fails": _example_to_json(rule.fails),
        "passes": _example_to_json(rule.passes),
    }


def _example_to_json(example: Example) -> dict[str, Any]:
    about, text = tell_example(example)
    found: dict[str, Any] = {"about": about}
    if isinstance(example, Assembled):
        found["plan"], found["boards"] = example
    elif isinstance(example, Mapping):
        found["patch"] = example
    elif text:
        found["text"] = text
    return found
