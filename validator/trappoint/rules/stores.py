"""Rules on stores only, beyond the schema of stores.

The rules on texts, and those in ``SHARED``, apply to stores as well as to plans.
"""

from __future__ import annotations

from trappoint.rules.rule import Rule

_HEAD = '{\n  "format": "trappoint-store/1",\n  "currency": "GBP",\n'
_DOLLS = '  "parts": {"doll": {"owned": 2}, "post": {}},\n  "recipes": {"foot": '

OWN_RATE = Rule(
    id="rate-of-own-currency",
    level="error",
    stage="store",
    summary="a store with a rate for its own currency",
    why="A rate gives the worth of another currency; that of the store's own is always 1.",
    source="the format of stores: rates",
    fails=_HEAD + '  "rates": {"GBP": "0.86"},\n  "parts": {}\n}',
    passes=_HEAD + '  "rates": {"EUR": "0.86"},\n  "parts": {}\n}',
)

CHANGES_NOTHING = Rule(
    id="recipe-changes-nothing",
    level="error",
    stage="store",
    summary="a recipe of a store that yields exactly the parts that it uses",
    why="Such a recipe changes nothing, so it is probably a mistake.",
    source="the format of stores: a recipe makes parts out of parts",
    fails=_HEAD + _DOLLS + '{"uses": {"doll": 1}, "yields": {"doll": 1}}}\n}',
    passes=_HEAD + _DOLLS + '{"uses": {"doll": 1}, "yields": {"post": 1}}}\n}',
)

_HOME = _HEAD + '  "parts": {"home": {"owned": 2, '
_POST = '"as_signal": {"mount": "post", "form": "upper-quadrant", "dolls": [["stop"]]}}}\n}'

TWO_USES = Rule(
    id="part-with-two-uses",
    level="warning",
    stage="store",
    summary="a part of a store with two uses",
    why="One piece is a mount or an arm; a mount with its arms on is a ready-made signal.",
    source="the format of stores: parts",
    fails=_HOME + '"as_mount": {"mounts": ["post"]},\n    "as_arm": {"kinds": ["stop"]}}}\n}',
    passes=_HOME + _POST,
)

STORE_RULES: tuple[Rule, ...] = (OWN_RATE, CHANGES_NOTHING, TWO_USES)

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
"""The rules on form and references that apply to stores as well as to plans."""
