"""The documentation of the rules of form: what a plan must look like by its schema."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping

_SCHEMA = "the format's schema (JSON Schema, draft 2020-12)"


def _form(
    id_: str,
    summary: str,
    why: str,
    fails: Mapping[str, Any],
    passes: Mapping[str, Any] | None = None,
) -> Rule:
    return Rule(id_, "error", "form", summary, why, _SCHEMA, fails, passes or {})


FORM_RULES: tuple[Rule, ...] = (
    _form(
        "unknown-format",
        "a format that this version does not know",
        "The format's name says by which rules the rest is to be read.",
        {"format": "trappoint-layout/9"},
    ),
    _form(
        "unknown-key",
        "a key that the format does not have",
        "A key that is misspelt would be passed over in silence, and with it what it says.",
        {"tracks": {"main": {"lenght_mm": 1450}}},
    ),
    _form(
        "missing-key",
        "a key that must be there and is not",
        "Without it the rest can not be understood.",
        {"tracks": {"main": {"down": None}}},
    ),
    _form(
        "wrong-type",
        "a value of the wrong kind",
        "A length in quotes is a text, and a text has no length.",
        {"tracks": {"main": {"length_mm": "1450"}}},
    ),
    _form(
        "wrong-value",
        "a word that is none of those that may stand there",
        "Only these words mean something there.",
        {"signals": {"2": {"for": "west"}}},
    ),
    _form(
        "bad-id",
        "an id with signs that ids do not have",
        "Ids are letters, digits, _ and -, at most 40, so that they can stand in any table, file "
        "name and drawing.",
        {"platforms": {"No. 1": {"tracks": ["main"]}}},
    ),
    _form(
        "bad-track-end",
        "a track end of a form that ends do not have",
        "An end is a buffer, an edge:NAME, a joint:NAME, or a leg: ID.LEG.",
        {"tracks": {"siding": {"down": "buffers"}}},
    ),
    _form(
        "bad-form",
        "a text of the wrong form",
        "Lever numbers, pointers and paths are read by their form; in a store amounts, rates and "
        "currencies.",
        {"levers": {"one": {"points": ["p1"]}}},
    ),
    _form(
        "out-of-range",
        "a number too small or too large to be true",
        "A length of nothing or less is a slip of the pen.",
        {"tracks": {"main": {"length_mm": -1450}}},
    ),
    _form(
        "too-few",
        "a list or an object with too little in it",
        "A signal without arms says nothing; one set of points is not worked together.",
        {"signals": {"2": {"arms": []}}},
    ),
    _form(
        "empty-text",
        "a text with nothing in it",
        "It looks as if something were said.",
        {"signals": {"2": {"duties": [""]}}},
    ),
    _form(
        "duplicate-item",
        "the same name twice in one list",
        "Twice says no more than once; most likely another name was meant.",
        {"platforms": {"A": {"tracks": ["main", "main"]}}},
    ),
    _form(
        "exclusive-keys",
        "two keys of which only one may be there",
        "Both say the same thing in two ways, and could contradict each other.",
        {"points": {"p1": {"angle_degrees": 7.2}}},
    ),
)
