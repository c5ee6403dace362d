"""The example of a rule as the text of a plan."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from trappoint.resources import read_resource


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


def example_text(example: Any) -> str | bytes:
    """Write out what a rule gives as its example."""
    if callable(example):
        return str(example())
    if isinstance(example, str | bytes):
        return example
    base = json.loads(read_resource("kelpie-quay.layout.json"))
    return json.dumps(patched(base, example), indent=2)
