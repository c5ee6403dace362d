"""The vocabulary of each format covers exactly the parts that its schema can refuse."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from trappoint.parts.store_words import STORE
from trappoint.schema.compiled import compile_acceptor
from trappoint.schema.layout_words import LAYOUT
from trappoint.schema.vocabulary import Vocabulary

each_format = pytest.mark.parametrize("words", [LAYOUT, STORE], ids=lambda words: words.one)


def _parts(schema: Any) -> Iterator[dict[str, Any]]:
    """Yield each part of a schema except those in a ``not``, which no message mentions."""
    if isinstance(schema, dict):
        yield schema
        for keyword in ("properties", "$defs"):
            for part in schema.get(keyword, {}).values():
                yield from _parts(part)
        for keyword in ("items", "additionalProperties", "propertyNames"):
            yield from _parts(schema.get(keyword))


@each_format
def test_the_least_document_follows_the_schema_and_no_smaller_one_does(words: Vocabulary) -> None:
    accepts = compile_acceptor(words.schema)
    assert accepts(words.least)
    for gone in words.least:
        assert not accepts({key: value for key, value in words.least.items() if key != gone})


@each_format
def test_each_key_that_may_be_missing_has_an_example(words: Vocabulary) -> None:
    needed = {key for part in _parts(words.schema) for key in part.get("required", ())}
    for part in _parts(words.schema):
        needed.update(*part.get("dependentRequired", {}).values())
    assert words.needed.keys() == needed
    for key, (example, why) in words.needed.items():
        assert example.startswith(f'"{key}": ')
        assert why.endswith(".")


@each_format
def test_each_pattern_has_a_form(words: Vocabulary) -> None:
    patterns = {part["pattern"] for part in _parts(words.schema) if "pattern" in part}
    used = [words.form(pattern) for pattern in patterns]
    assert {id(form) for form in used} == {id(form) for form in words.forms.values()}


@each_format
def test_each_map_of_things_has_a_word_for_one_of_them(words: Vocabulary) -> None:
    keyed = {
        key
        for key, part in words.schema["properties"].items()
        if "additionalProperties" in part and "properties" not in part
    }
    assert keyed <= words.kinds.keys()
    assert all(outer in keyed for outer, _ in words.inner)


@each_format
def test_types_that_exclude_one_value_say_why(words: Vocabulary) -> None:
    excluding = {
        tuple(part["type"]) for part in _parts(words.schema) if "const" in part.get("not", {})
    }
    assert words.two_types.keys() == excluding


@each_format
def test_the_format_is_the_one_of_the_schema(words: Vocabulary) -> None:
    assert words.schema["properties"]["format"]["const"] == words.format
    assert words.least["format"] == words.format
