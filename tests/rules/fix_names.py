"""The names in a fix: each is in the plan or in the format, or the fix says to write it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

SCHEMAS = Path(__file__).parents[2] / "schema"

NAMED = re.compile(
    r'"([^"]+)"|`([^`]+)`|(?<![\w,.-])([\w/-]*\d[\w/-]*(?:\.\w+)?)'
    r"|(?<![\w/-])(town-line|loop-west|loop-east|quarry-line)\b(?!-)"
)
"""Quoted words, code, words with a digit in them, and the tracks of the demonstration plan."""

MEASURES = re.compile(r"[\d,.]+ mm\b")

TO_WRITE = re.compile(r"\b(?:add|write|new|begin with)\b[^.;]*$", re.IGNORECASE)
"""The beginning of a clause with a verb that means writing something new."""


def unknown_names(fix: str, plan: object, *boards: object) -> list[str]:
    """Return the names in a fix that nothing in the plan has and that it does not say to write."""
    known = set(words_of_the_format())
    for each in (plan, *boards):
        known.update(words_in(each))
    text = MEASURES.sub(lambda measure: " " * len(measure[0]), fix)
    found = []
    for named in NAMED.finditer(text):
        word = next(filter(None, named.groups()))
        there = word in known or known.issuperset(re.findall(r"[\w/-]+", word))
        written = TO_WRITE.search(text[: named.start()]) or word.startswith("trappoint ")
        if not (there or written):
            found.append(word)
    return found


def words_in(value: object) -> Iterator[str]:
    """Yield every key and text of a document, and their parts; each movement by its number."""
    if isinstance(value, Mapping):
        for key, each in value.items():
            yield from _parts(key)
            yield from words_in(each)
            if key == "moves":
                yield from (str(number) for number, _ in enumerate(each, 1))
    elif isinstance(value, list | tuple):
        for each in value:
            yield from words_in(each)
    elif isinstance(value, str):
        yield from _parts(value)


def _parts(text: str) -> Iterator[str]:
    yield text
    yield from re.findall(r"[\w/-]+", text)
    yield from re.split(r"[.:]", text)


@cache
def words_of_the_format() -> frozenset[str]:
    """Return the keys and values that the schemas know."""
    found: set[str] = {"true", "false"}
    for path in SCHEMAS.glob("*.schema.json"):
        _collect(json.loads(path.read_text("utf-8")), found)
    return frozenset(found)


def _collect(schema: Any, found: set[str]) -> None:
    if isinstance(schema, list):
        for each in schema:
            _collect(each, found)
    if not isinstance(schema, dict):
        return
    found.update(schema.get("properties", {}))
    found.update(value for value in schema.get("enum", []) if isinstance(value, str))
    for each in schema.values():
        _collect(each, found)
