"""The examples of rules as texts of plans."""

from __future__ import annotations

import copy
import json
from collections.abc import Mapping
from typing import Any

from trappoint.core.resources import read_resource
from trappoint.rules.rule import Assembled, Rule
from trappoint.source.files import FilesAtHand


def with_check(rule: Rule, check: Any) -> Rule:
    """Return the same rule with another check, or with none."""
    other = copy.copy(rule)
    other.check = check
    return other


def patched(plan: Any, patch: Any) -> Any:
    """Apply a JSON merge patch (RFC 7396, section 2: the algorithm as printed there)."""
    if not isinstance(patch, Mapping):
        return patch
    result = dict(plan) if isinstance(plan, Mapping) else {}
    for key, value in patch.items():
        if value is None:
            result.pop(key, None)
        else:
            result[key] = patched(result.get(key), value)
    return result


DEMONSTRATION = "kelpie-quay.layout.json"


def example_files(example: Any) -> FilesAtHand | None:
    """Return the files of an example with boards, the demonstration plan too; None without."""
    if not isinstance(example, Assembled):
        return None
    boards = {path: json.dumps(plan, indent=2) for path, plan in example.boards.items()}
    return FilesAtHand({DEMONSTRATION: read_resource(DEMONSTRATION), **boards})


def example_text(example: Any) -> str | bytes:
    """Return the text of an example; of an example with boards, the text of the plan itself."""
    if isinstance(example, Assembled):
        return json.dumps(example.plan, indent=2)
    if callable(example):
        return str(example())
    if isinstance(example, str | bytes):
        return example
    base = json.loads(read_resource(DEMONSTRATION))
    return json.dumps(patched(base, example), indent=2)
