"""Plans to compare: with changes of meaning, and with changes of ids alone."""

from __future__ import annotations

import copy
import json
import random
import re
from collections.abc import Callable
from functools import cache
from typing import Any

from properties.changes import Renaming
from trappoint.comparing.comparison import compare
from trappoint.comparing.model import Comparison, Side
from trappoint.comparing.sides import read_side
from trappoint.core.resources import read_resource
from trappoint.model.settings import DEFAULTS

Plan = dict[str, Any]
What = tuple[str, str | None, str | None]
"""A kind, and a thing's id before and now."""

TEXT = read_resource("kelpie-quay.layout.json")


def kelpie() -> Plan:
    found: Plan = json.loads(TEXT)
    return found


def compared(old: Plan | str, new: Plan | str) -> Comparison:
    texts = [each if isinstance(each, str) else json.dumps(each, indent=1) for each in (old, new)]
    return compare(side(texts[0], "old"), side(texts[1], "new"))


@cache
def side(text: str, name: str) -> Side:
    """Read and check one side, once for all comparisons: they do not change it."""
    return read_side(text, name, DEFAULTS)


def told(comparison: Comparison) -> dict[What, tuple[str, ...]]:
    """Return the change of each thing."""
    return {(c.kind, c.old and c.old.id, c.new and c.new.id): c.how for c in comparison.things}


def fields(comparison: Comparison, kind: str, name: str) -> list[str]:
    """Return the changed fields of a thing of the new plan."""
    (change,) = [c for c in comparison.things if c.kind == kind and c.new and c.new.id == name]
    return [field.name for field in change.fields]


def changed(change: Callable[[Plan], None], plan: Plan | None = None) -> Plan:
    """Return a plan (Kelpie Quay) after a change."""
    result = copy.deepcopy(kelpie() if plan is None else plan)
    change(result)
    return result


def permuted(rng: random.Random, plan: Plan) -> tuple[Plan, dict[tuple[str, str], str]]:
    """Return the plan with the ids of each kind shuffled among its things, and the new ids."""
    renaming = Renaming(rng, plan)
    apart = renaming.apply()
    by_kind: dict[str, list[str]] = {}
    for kind, name in renaming._new:
        by_kind.setdefault(kind, []).append(name)
    now: dict[tuple[str, str], str] = {}
    back: dict[str, str] = {}
    for kind, names in by_kind.items():
        dealt = rng.sample(names, len(names))
        for name, new in zip(names, dealt, strict=True):
            now[kind, name] = new
            back[renaming._new[kind, name]] = new
    text = re.sub(r"zq\d{4}", lambda found: back[found.group()], json.dumps(apart))
    result: Plan = json.loads(text)
    return result, now
