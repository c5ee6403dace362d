"""Plans with any mistake are compared or refused; none of them causes an internal error."""

from __future__ import annotations

import copy
import json
import random
from typing import Any

from amount import amount
from compare.plans import Plan, compared, kelpie
from properties.test_unchanged import drawn
from trappoint.core.terminal import RenderOptions
from trappoint.reporting import compare_json, compare_markdown, compare_text

JUNK: tuple[Any, ...] = (
    *(None, True, 0, -1, 1.5, "", "p1", "main", "joint:x", "p1.toe", "p1.normal", "no such"),
    *([], {}, [[]], [{}], {"a": {}}, ["p1", "p1"], "x" * 50, "a/b~c", "down"),
)


def places(value: Any) -> list[tuple[Any, Any]]:
    """Yield every key of every map and every position in every list, each with its container."""
    found: list[tuple[Any, Any]] = []
    pairs = value.items() if isinstance(value, dict) else enumerate(value)
    for key, each in list(pairs):
        found.append((value, key))
        if isinstance(each, dict | list):
            found += places(each)
    return found


def mutant(rng: random.Random, plan: Plan) -> Plan:
    result = copy.deepcopy(plan)
    for _ in range(rng.choice((1, 1, 2, 4))):
        holder, key = rng.choice(places(result))
        how = rng.random()
        if how < 0.3:
            del holder[key]
        elif how < 0.8:
            holder[key] = copy.deepcopy(rng.choice(JUNK))
        elif isinstance(holder, dict):
            holder[rng.choice(("", "x", "for", "tracks", "arms", "id", "a/b"))] = holder.pop(key)
        else:
            holder.append(holder[key])
        if not result:
            break
    return result


def test_mutants() -> None:
    rng = random.Random(7)
    good = [plan for plan in drawn().values() if len(plan["tracks"]) < 25] + [kelpie()]
    compared_in_part = 0
    for _ in range(amount(40, long=5000)):
        plan = rng.choice(good)
        bad = mutant(rng, plan)
        for old, new in ((plan, bad), (bad, plan)):
            found = compared(old, new)
            compared_in_part += bool(found.names and (found.old.left_out or found.new.left_out))
            for form in (compare_text, compare_markdown):
                assert form.render(found, RenderOptions()).isprintable() is False  # it has lines
            told = json.loads(compare_json.render(found, RenderOptions()))
            assert told["differ"] is found.differ
    assert compared_in_part > 50
