"""Random JSON documents, and random ways to write a document."""

from __future__ import annotations

import json
import random
from typing import Any

from hypothesis import strategies as st

from trappoint.schema.published import layout_schema

Json = Any

NUMBERS = (
    *("0", "-0", "0.0", "1450", "1450.0", "1450.00", "1.450e3", "1e3", "1E+3", "1e-3", "-12.50"),
    *("0.1", "0.30000000000000004", "123456789012345678901234567890", "1e308", "5e-324", "1e-400"),
    *("9007199254740993", "2.5E-0", "100e-2"),
)
"""Numbers as people and programs write them; tidying must keep every digit."""

TEXTS = (
    *("", " ", "a", "Zug fährt ab", "東", "🚂", "é", "e\u0301", '"', "\\", "\\n", "/", "\u2028"),
    *("\t", "\n", "\r\n", "\x00", "\x1f", "\x7f", "\u00a0", "\ufeff", "</script>", "p1.toe"),
    *("{}", "[1, 2]", "<<<<<<< ours", "x" * 120, "two words " * 15),
)


class Digits(str):
    """A number, as the digits in the text."""


def read(text: str) -> Json:
    """Return JSON read with the standard library, with each number as ``Digits``."""
    return json.loads(text, parse_float=Digits, parse_int=Digits)


def tagged(value: Json) -> Json:
    """Return a value to compare: numbers differ from texts, and the order of keys is ignored."""
    if isinstance(value, dict):
        return {key: tagged(member) for key, member in value.items()}
    if isinstance(value, list):
        return [tagged(entry) for entry in value]
    if isinstance(value, Digits):
        return ("number", str(value))
    return (type(value).__name__, value)


_ID_KEYS = ("1", "p1", "loop-west", "é", "a b", "", "note", '"', "id", "x" * 40)

KNOWN_KEYS = sorted(
    {key for part in layout_schema()["$defs"].values() for key in part.get("properties", ())}
)


def values() -> st.SearchStrategy[Json]:
    """Return a strategy for any JSON value, with keys and numbers likely and unlikely in a plan."""
    leaves = (
        st.none()
        | st.booleans()
        | st.sampled_from(NUMBERS).map(Digits)
        | st.sampled_from(TEXTS)
        | st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
    )
    keys = st.sampled_from(_ID_KEYS) | st.sampled_from(KNOWN_KEYS)
    return st.recursive(
        leaves,
        lambda inner: st.lists(inner, max_size=6) | st.dictionaries(keys, inner, max_size=6),
        max_leaves=40,
    )


def documents() -> st.SearchStrategy[dict[str, Json]]:
    """Return a strategy for objects with the keys of a plan and with other keys."""
    tops = [key for key in layout_schema()["properties"] if key != "format"]
    keys = st.sampled_from(tops) | st.sampled_from(_ID_KEYS)
    return st.dictionaries(keys, values(), max_size=8)


def write(value: Json, rng: random.Random, line_end: str = "\n") -> str:
    """Return JSON text with random blanks, line ends and escapes wherever JSON allows them."""

    def blank() -> str:
        return rng.choice(("", "", "", " ", line_end, line_end * 2, "\t", f" {line_end}  "))

    def string(text: str) -> str:
        plain = json.dumps(text, ensure_ascii=rng.random() < 0.5)
        return plain.replace("/", "\\/") if rng.random() < 0.3 else plain

    def one(item: Json) -> str:
        if isinstance(item, Digits):
            return str(item)
        if isinstance(item, str):
            return string(item)
        if isinstance(item, dict):
            inner = f"{blank()},{blank()}".join(
                f"{string(key)}{blank()}:{blank()}{one(member)}" for key, member in item.items()
            )
            return f"{{{blank()}{inner}{blank()}}}"
        if isinstance(item, list):
            inner = f"{blank()},{blank()}".join(map(one, item))
            return f"[{blank()}{inner}{blank()}]"
        return json.dumps(item)

    return f"{blank()}{one(value)}{blank()}"
