"""The acceptor agrees with an independent validator on every value."""

from __future__ import annotations

import copy
import json
import random
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from amount import amount
from schema.test_layout_schema import EVERYTHING
from trappoint.core.resources import read_resource
from trappoint.schema.compiled import all_differ, compile_acceptor, ecma_pattern
from trappoint.schema.published import layout_schema
from trappoint.schema.validation import layout_acceptor, schema_findings

KELPIE_QUAY = json.loads(read_resource("kelpie-quay.layout.json"))
EXAMPLES = sorted(Path(__file__).parents[2].glob("examples/*.layout.json"))
MUTANTS = amount(5_000, long=100_000)

ODD_VALUES: tuple[Any, ...] = (
    *(None, True, False, 0, 1, -1, 1.0, 0.0, 1.5, 90, 10**30, 1e300, "", "a", "p1.toe", "buffer"),
    *("edge:x", "joint:", "no id", "x" * 41, "west/p1", "both", "down", "left", "normal", "1"),
    *("/a", "~", "/~2", "a:b", "../x", "/x", [], {}, [[]], ["a"], ["a", "a"], ["a", 1], [1, True]),
    *([1, 1.0], {"a": 1}, {"id": "a"}, {"up": "buffer", "down": "buffer"}, {"note": "n"}),
)
ODD_KEYS = ("", "a b", "x" * 41, "note", "id", "up", "at_mm", "kind", "measure", "001", "é", "-")


def _places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [path]
    members = value.items() if isinstance(value, dict) else enumerate(value)
    for key, member in members:
        if isinstance(member, dict | list):
            found += _places(member, (*path, key))
        else:
            found.append((*path, key))
    return found


def _mutate(plan: Any, draw: random.Random) -> None:
    path = draw.choice([place for place in _places(plan) if place])
    *above, last = path
    box = plan
    for part in above:
        box = box[part]
    what = draw.randrange(6)
    if what == 0:
        del box[last]
    elif what == 1:
        box[last] = copy.deepcopy(draw.choice(ODD_VALUES))
    elif what == 2:
        other: Any = plan
        for part in draw.choice(_places(plan)):
            other = other[part]
        box[last] = copy.deepcopy(other)
    elif what == 3 and isinstance(box, dict):
        box[draw.choice([*ODD_KEYS, *box, *KEYS])] = copy.deepcopy(draw.choice(ODD_VALUES))
    elif what == 4 and isinstance(box, dict):
        box[draw.choice([*ODD_KEYS, *KEYS])] = box.pop(last)
    elif isinstance(box, list):
        box.append(copy.deepcopy(draw.choice([*ODD_VALUES, *box])))
    else:
        box[last] = [box[last]]


KEYS = sorted(
    {key for part in layout_schema()["$defs"].values() for key in part.get("properties", ())}
)


def _part_of(plan: dict[str, Any], draw: random.Random) -> dict[str, Any]:
    """Return a copy of a plan with its required keys and three random ones."""
    kept = {"format", "tracks", *draw.sample(sorted(plan), 3)}
    return copy.deepcopy({key: value for key, value in plan.items() if key in kept})


def test_mutants_of_plans_are_judged_as_an_independent_validator_judges_them() -> None:
    draw = random.Random(1887)
    accepts = layout_acceptor()
    judge = Draft202012Validator(layout_schema())
    verdicts = {True: 0, False: 0}
    for number in range(MUTANTS):
        plan = _part_of(EVERYTHING if number % 8 else KELPIE_QUAY, draw)
        for _ in range(draw.choice((1, 1, 1, 2, 3))):
            _mutate(plan, draw)
        verdict = accepts(plan)
        assert verdict == judge.is_valid(plan), json.dumps(plan)
        verdicts[verdict] += 1
        if number % 11 == 0:
            # A refused plan has findings; an accepted one has none.
            assert bool(schema_findings(plan)) != verdict, json.dumps(plan)
    assert min(verdicts.values()) > MUTANTS / 20, verdicts


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_examples_are_accepted(path: Path) -> None:
    plan = json.loads(path.read_text(encoding="utf-8"))
    assert layout_acceptor()(plan)
    assert Draft202012Validator(layout_schema()).is_valid(plan)


@pytest.mark.parametrize("value", [None, True, 0, 1.5, "a", [], {}, [EVERYTHING]])
def test_what_is_no_plan_at_all(value: object) -> None:
    assert layout_acceptor()(value) is False


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-3, 3)
    | st.sampled_from([0.0, 1.0, 1.5, -0.0])
    | st.text("ab", max_size=2),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text("ab", max_size=2), inner, max_size=3)
    ),
    max_leaves=8,
)
SMALL_SCHEMAS: list[dict[str, Any]] = [
    *({"type": t} for t in ("object", "array", "string", "boolean", "null", "number", "integer")),
    *({"type": [t, "string"]} for t in ("boolean", "array", "number")),
    {"enum": ["a", "b"]},
    {"enum": [1, True, None, [0], {"a": 0}]},
    {"const": False},
    {"const": 1},
    {"const": [True, {"a": 1}]},
    {"pattern": "^a"},
    {"uniqueItems": True},
    {"uniqueItems": False},
    {"required": ["a", "b"]},
    {"dependentRequired": {"a": ["b"]}},
    {"not": {"required": ["a"]}},
    {"minimum": 1},
    {"exclusiveMinimum": 0},
    {"exclusiveMaximum": 1},
    {"minLength": 1},
    {"minItems": 2},
    {"items": {"type": "number"}},
    {"propertyNames": {"minLength": 1}},
    {"properties": {"a": {"type": "null"}}, "additionalProperties": False},
    {"properties": {"a": {"type": "null"}}},
    {"additionalProperties": {"type": "string"}},
    {
        "properties": {"a": False, "b": True},
        "additionalProperties": {"$ref": "#/$defs/c"},
        "$defs": {"c": {"not": {"type": "array"}}},
    },
    {},
]


@given(st.sampled_from(SMALL_SCHEMAS), JSON)
def test_each_keyword_means_what_the_independent_validator_makes_of_it(
    schema: dict[str, Any], value: object
) -> None:
    assert compile_acceptor(schema)(value) == Draft202012Validator(schema).is_valid(value)


def test_every_keyword_of_the_schema_is_among_those_tried_alone() -> None:
    tried = {keyword for schema in SMALL_SCHEMAS for keyword in schema} | {"$ref"}
    annotations = {"$schema", "$id", "$comment", "title", "description", "default", "examples"}

    def keywords(schema: Any) -> set[str]:
        if not isinstance(schema, dict):
            return set()
        found = set(schema)
        for keyword in ("items", "additionalProperties", "propertyNames", "not"):
            found |= keywords(schema.get(keyword))
        for keyword in ("properties", "$defs"):
            for part in schema.get(keyword, {}).values():
                found |= keywords(part)
        return found

    assert keywords(layout_schema()) - annotations <= tried


@pytest.mark.parametrize(
    ("schema", "message"),
    [
        ({"maxItems": 3}, "unknown keyword in the schema: maxItems"),
        ({"items": {"format": "date"}}, "unknown keyword in the schema: format"),
        ({"$ref": "other.json#/a"}, "unknown reference in the schema: other.json#/a"),
        ({"$ref": "#/$defs/a"}, "unknown reference in the schema: #/$defs/a"),
        (
            {"$ref": "#/$defs/a", "$defs": {"a": {"items": {"$ref": "#/$defs/a"}}}},
            "the schema refers to itself: #/$defs/a",
        ),
        ({"items": 3}, "not a schema: 3"),
    ],
)
def test_what_it_does_not_know_it_does_not_compile(schema: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError) as caught:
        compile_acceptor(schema)
    assert str(caught.value) == message


def test_a_line_feed_at_the_end_is_no_part_of_an_id() -> None:
    # ECMA 262 section 22.2.2.4: without the flag m, $ matches only at the end. Python's $ also
    # matches before a last line feed, and an unguarded validator follows Python.
    plan = {"format": "trappoint-layout/1", "tracks": {"a\n": {"up": "buffer", "down": "buffer\n"}}}
    assert Draft202012Validator(layout_schema()).is_valid(plan)
    assert not layout_acceptor()(plan)
    assert [(f.rule, f.pointer) for f in schema_findings(plan)] == [
        ("bad-id", "/tracks/a\n"),
        ("bad-track-end", "/tracks/a\n/down"),
    ]


@pytest.mark.parametrize(
    ("pattern", "matching", "other"),
    [
        ("^a$", "a", "a\n"),
        (r"^a\$$", "a$", "a$\n"),
        ("^[$]$", "$", "$\n"),
        ("^[]$]$", "]", "]\n"),
        ("^a$|^b$", "b", "b\n"),
        (r"^[\]$]$", "$", "$\n"),
    ],
)
def test_the_dollar_sign(pattern: str, matching: str, other: str) -> None:
    assert ecma_pattern(pattern).search(matching)
    assert not ecma_pattern(pattern).search(other)


def test_equal_entries_of_lists() -> None:
    # JSON Schema core 4.2.2: numbers are equal by value, and no number equals true.
    assert all_differ([1, True, "1", None, [1], [True], {"a": 0}, {"a": False}])
    assert not all_differ([1, 1.0])
    assert not all_differ([{"a": 1, "b": [2]}, {"b": [2.0], "a": 1}])
