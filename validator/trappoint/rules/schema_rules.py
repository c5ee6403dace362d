"""The documentation of the rules of form: what a plan must look like by its schema."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping

_SCHEMA = "the format's schema (JSON Schema, draft 2020-12)"


def _form(
    id_: str,
    *,
    summary: str,
    why: str,
    fails: Mapping[str, Any],
    passes: Mapping[str, Any] | None = None,
) -> Rule:
    """Make a rule of form: all have one level and one source."""
    return Rule(
        id=id_,
        level="error",
        stage="form",
        summary=summary,
        why=why,
        source=_SCHEMA,
        fails=fails,
        passes=passes or {},
    )


FORM_RULES: tuple[Rule, ...] = (
    _form(
        "unknown-format",
        summary="a format that this version does not know",
        why="The format's name says by which rules the rest is to be read.",
        fails={"format": "trappoint-layout/9"},
    ),
    _form(
        "unknown-key",
        summary="a key that the format does not have",
        why="A key that is misspelt would be passed over in silence, and with it what it says.",
        fails={"tracks": {"main": {"lenght_mm": 1450}}},
    ),
    _form(
        "missing-key",
        summary="a key that must be there and is not",
        why="Without it the rest cannot be understood.",
        fails={"tracks": {"main": {"down": None}}},
    ),
    _form(
        "wrong-type",
        summary="a value of the wrong kind",
        why="A length in quotes is a text, and a text has no length.",
        fails={"tracks": {"main": {"length_mm": "1450"}}},
    ),
    _form(
        "wrong-value",
        summary="a word that is none of those that may stand there",
        why="Only these words mean something there.",
        fails={"signals": {"2": {"for": "west"}}},
    ),
    _form(
        "bad-id",
        summary="an id with signs that ids do not have",
        why=(
            "Ids are letters, digits, _ and -, at most 40, so that they can stand in any table, "
            "file name and drawing."
        ),
        fails={"platforms": {"No. 1": {"tracks": ["main"]}}},
    ),
    _form(
        "bad-track-end",
        summary="a track end of a form that ends do not have",
        why="An end is a buffer, an edge:NAME, a joint:NAME, or a leg: ID.LEG.",
        fails={"tracks": {"siding": {"down": "buffers"}}},
    ),
    _form(
        "bad-form",
        summary="a text of the wrong form",
        why=(
            "Lever numbers, pointers and paths are read by their form; in a store amounts, rates "
            "and currencies."
        ),
        fails={"levers": {"one": {"points": ["p1"]}}},
    ),
    _form(
        "out-of-range",
        summary="a number too small or too large to be true",
        why="A length of nothing or less is a slip of the pen.",
        fails={"tracks": {"main": {"length_mm": -1450}}},
    ),
    _form(
        "too-few",
        summary="a list or an object with too little in it",
        why="A signal without arms says nothing; one set of points is not worked together.",
        fails={"signals": {"2": {"arms": []}}},
    ),
    _form(
        "empty-text",
        summary="a text with nothing in it",
        why="It looks as if something were said.",
        fails={"signals": {"2": {"duties": [""]}}},
    ),
    _form(
        "duplicate-item",
        summary="the same name twice in one list",
        why="Twice says no more than once; most likely another name was meant.",
        fails={"platforms": {"A": {"tracks": ["main", "main"]}}},
    ),
    _form(
        "exclusive-keys",
        summary="two keys of which only one may be there",
        why="Both say the same thing in two ways, and could contradict each other.",
        fails={"points": {"p1": {"angle_degrees": 7.2}}},
    ),
)
