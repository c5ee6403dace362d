"""Rules of stores alone: what the schema of stores cannot say.

What else is said of a store is said by the rules on texts and forms, and on references, that plans
have too: ``SHARED`` names them.
"""

from __future__ import annotations

from trappoint.rules.rule import Rule

_HEAD = '{\n  "format": "trappoint-store/1",\n  "currency": "GBP",\n'
_DOLLS = '  "parts": {"doll": {"owned": 2}, "post": {}},\n  "recipes": {"foot": '

OWN_RATE = Rule(
    id="rate-of-own-currency",
    level="error",
    stage="store",
    summary="a store with a rate for the currency in which it counts",
    why="One of a currency is worth one of it, always.",
    source="the format of stores: a rate says what one of another currency is worth",
    fails=_HEAD + '  "rates": {"GBP": "0.86"},\n  "parts": {}\n}',
    passes=_HEAD + '  "rates": {"EUR": "0.86"},\n  "parts": {}\n}',
)

CHANGES_NOTHING = Rule(
    id="recipe-changes-nothing",
    level="error",
    stage="store",
    summary="a recipe of a store that yields just what it uses",
    why="Doing it changes nothing, so that something else must be meant.",
    source="the format of stores: a recipe makes parts out of parts",
    fails=_HEAD + _DOLLS + '{"uses": {"doll": 1}, "yields": {"doll": 1}}}\n}',
    passes=_HEAD + _DOLLS + '{"uses": {"doll": 1}, "yields": {"post": 1}}}\n}',
)

STORE_RULES: tuple[Rule, ...] = (OWN_RATE, CHANGES_NOTHING)

SHARED: tuple[str, ...] = (
    "unknown-format",
    "unknown-key",
    "missing-key",
    "wrong-type",
    "wrong-value",
    "bad-id",
    "bad-form",
    "out-of-range",
    "too-few",
    "empty-text",
    "duplicate-item",
    "exclusive-keys",
    "unknown-reference",
)
"""The rules on form and references that speak on stores as on plans."""
