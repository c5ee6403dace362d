"""The format of stores: its schema, its page, and the findings on wrong stores."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from amount import amount
from trappoint.parts.store_reading import read_store
from trappoint.rules.catalogue import all_rules
from trappoint.rules.stores import SHARED, STORE_RULES
from trappoint.schema.published import store_schema

SCHEMA = store_schema()
STORES = amount(500, long=50_000)
PAGE = (Path(__file__).parents[2] / "schema" / "STORE.md").read_text("utf-8")
EXAMPLE = json.loads(re.findall(r"^```json\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)[0])


def _objects(schema: Any) -> Iterator[dict[str, Any]]:
    if isinstance(schema, dict):
        if "properties" in schema:
            yield schema
        for keyword in ("properties", "$defs"):
            for part in schema.get(keyword, {}).values():
                yield from _objects(part)


def test_it_follows_the_meta_schema_of_its_draft() -> None:
    assert SCHEMA["$id"] == "urn:trappoint:store:1"
    Draft202012Validator.check_schema(SCHEMA)


def test_every_object_is_closed_takes_a_note_and_is_explained() -> None:
    objects = list(_objects(SCHEMA))
    assert len(objects) == 8
    for schema in objects:
        assert schema["additionalProperties"] is False
        assert "note" in schema["properties"]
        for key, part in schema["properties"].items():
            assert part["description"].endswith("."), key
            target = SCHEMA["$defs"][part["$ref"].rpartition("/")[2]] if "$ref" in part else {}
            assert part.get("title") or target["title"], key


def test_every_key_and_word_is_on_the_page() -> None:
    for schema in _objects(SCHEMA):
        for key, part in schema["properties"].items():
            assert f'"{key}":' in PAGE or f"`{key}`" in PAGE or key == "$schema", key
            for word in part.get("items", {}).get("enum", ()):
                assert f"`{word}`" in PAGE, word


def test_the_page_and_the_example_are_in_order() -> None:
    examples = list((Path(__file__).parents[2] / "examples").glob("*.store.json"))
    assert len(examples) == 2
    for text in (json.dumps(EXAMPLE), *(path.read_text("utf-8") for path in examples)):
        assert read_store(text, "page").findings == ()


def _places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield path
    if isinstance(value, dict | list):
        members = value.items() if isinstance(value, dict) else enumerate(value)
        for key, member in members:
            yield from _places(member, (*path, key))


WRONG: tuple[Any, ...] = (
    None,
    True,
    -1,
    0,
    1.5,
    2.0,
    10**6,
    "",
    "x y",
    "1.234",
    "a" * 50,
    [],
    ["post", "post"],
    {},
)


def _spoil(random: Random) -> Any:
    spoilt = copy.deepcopy(EXAMPLE)
    path = random.choice([place for place in _places(spoilt) if place])
    inside = spoilt
    for part in path[:-1]:
        inside = inside[part]
    choice = random.random()
    if choice < 0.6 or not isinstance(inside, dict):
        inside[path[-1]] = random.choice(WRONG)
    elif choice < 0.8:
        del inside[path[-1]]
    else:
        inside[random.choice(("colour", "x y", "dolls", "free_from"))] = random.choice(WRONG)
    return spoilt


def test_it_finds_fault_where_an_independent_validator_does() -> None:
    validator = Draft202012Validator(SCHEMA)
    of_form, told = 0, set()
    for seed in range(STORES):
        spoilt = _spoil(Random(seed))
        found = read_store(json.dumps(spoilt), "spoilt").findings
        sense = {"unknown-reference", *(rule.id for rule in STORE_RULES)}
        if validator.is_valid(spoilt):
            assert {finding.rule for finding in found} <= sense, seed
        else:
            of_form += 1
            assert found, seed
            assert not {finding.rule for finding in found} & sense, seed
        told |= {finding.rule for finding in found}
        assert all(finding.line and finding.message.endswith(".") for finding in found), seed
    assert of_form > STORES // 4
    # Each finding has an explanation, and these slips produce nearly all kinds.
    known = {*SHARED, *(rule.id for rule in STORE_RULES)}
    assert told <= known <= {rule.id for rule in all_rules()}
    assert set(SHARED) - told <= {"unknown-format", "exclusive-keys"}


def test_the_page_names_the_rules() -> None:
    part = PAGE[PAGE.index("## Rules") :]
    named = re.findall(r"`([a-z-]+)`", part)
    assert sorted(named) == sorted([*SHARED, *(rule.id for rule in STORE_RULES)])


def spoilt(**changes: Any) -> str:
    return json.dumps({**EXAMPLE, **changes}, indent=1)


@pytest.mark.parametrize(
    ("changes", "rule", "pointer", "message"),
    [
        ({"shop": {}}, "unknown-key", "/shop", 'The store has an unknown key "shop".'),
        (
            {"recipes": {"r": {"uses": {"pots": 1}, "yields": {"post": 1}}}},
            "unknown-reference",
            "/recipes/r/uses/pots",
            'Uses of recipe r names the part "pots", which is not in the store.',
        ),
        (
            {"shops": {"s": {"offers": {"o": {"contains": {"post": 1}, "price": 4.5}}}}},
            "wrong-type",
            "/shops/s/offers/o/price",
            "price of offer o of shop s must be a text in double quotes, but it is the number 4.5.",
        ),
        (
            {"shops": {"s": {"offers": {}, "postage": "3,20"}}},
            "bad-form",
            "/shops/s/postage",
            'postage of shop s is "3,20", which is no amount of money.',
        ),
        (
            {"shops": {"s": {"offers": {}, "free_from": "3.20"}}},
            "missing-key",
            "/shops/s",
            "Shop s has no postage.",
        ),
        ({"parts": {"top post": {}}}, "bad-id", "/parts/top post",
         '"top post" in parts cannot be an id: it has a space in it.'),
        ({"parts": {"post": {"as_mount": {"mounts": []}}}, "recipes": {}, "shops": {}}, "too-few",
         "/parts/post/as_mount/mounts",
         "mounts of as_mount of part post must have at least one entry, but it has none."),
        ({"title": True}, "wrong-type", "/title",
         "title must be a text in double quotes, but it is true."),
        ({"format": 1}, "wrong-type", "/format",
         "format must be a text in double quotes, but it is the number 1."),
        ({"rates": {"GBP": "1"}}, "rate-of-own-currency", "/rates/GBP",
         "The store has a rate for GBP, which is its own currency."),
        ({"rates": {"EUR": "0.00"}}, "bad-form", "/rates/EUR",
         'rate EUR is "0.00", which is no rate of exchange.'),
        ({"format": "trappoint-layout/1"}, "unknown-format", "/format",
         'The format "trappoint-layout/1" is not known.'),
        ({"recipes": {"r": {"uses": {"saw": 1}, "yields": {"saw": 1}}}}, "recipe-changes-nothing",
         "/recipes/r", "Recipe r yields exactly the parts that it uses."),
    ],
)  # fmt: skip
def test_what_is_said(changes: dict[str, Any], rule: str, pointer: str, message: str) -> None:
    found = read_store(spoilt(**changes), "store").findings
    assert [(f.rule, f.pointer, f.message) for f in found] == [(rule, pointer, message)]
    assert found[0].line > 1
