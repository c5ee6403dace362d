"""The pages of the rules on form: a plan must match the schema of its format."""

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
    """Return a rule on form: all are errors with the same source."""
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
        why="In another edition of the format, the same keys may have other meanings.",
        fails={"format": "trappoint-layout/9"},
    ),
    _form(
        "unknown-key",
        summary="a key that the format does not have",
        why="The check would ignore a misspelt key, and its value with it.",
        fails={"tracks": {"main": {"lenght_mm": 1450}}},
    ),
    _form(
        "missing-key",
        summary="a missing key",
        why="Without this key, the check cannot understand the rest.",
        fails={"tracks": {"main": {"down": None}}},
    ),
    _form(
        "wrong-type",
        summary="a value of the wrong type",
        why="The check cannot use such a value: a length in quotes, for example, is a text.",
        fails={"tracks": {"main": {"length_mm": "1450"}}},
    ),
    _form(
        "wrong-value",
        summary="a word that the key does not allow",
        why="Only the words of the format have a meaning here.",
        fails={"signals": {"2": {"for": "west"}}},
    ),
    _form(
        "bad-id",
        summary="an id with characters that ids may not have",
        why=(
            "Ids have at most 40 letters, digits, _ and -, so that they fit any table, file name "
            "and drawing."
        ),
        fails={"platforms": {"No. 1": {"tracks": ["main"]}}},
    ),
    _form(
        "bad-track-end",
        summary="a track end of an unknown form",
        why="A track ends at buffer, edge:NAME, joint:NAME or a leg, ID.LEG.",
        fails={"tracks": {"siding": {"down": "buffers"}}},
    ),
    _form(
        "bad-form",
        summary="a text of the wrong form",
        why=(
            "Lever numbers, pointers and paths have a fixed form, as have the amounts, rates and "
            "currencies of a store."
        ),
        fails={"levers": {"one": {"points": ["p1"]}}},
    ),
    _form(
        "out-of-range",
        summary="a number outside its range",
        why="Such a number is a mistake: no length, for example, is zero or less.",
        fails={"tracks": {"main": {"length_mm": -1450}}},
    ),
    _form(
        "too-few",
        summary="a list or an object with too few entries",
        why="A signal needs an arm, for example, and points worked together are at least two.",
        fails={"signals": {"2": {"arms": []}}},
    ),
    _form(
        "empty-text",
        summary="an empty text",
        why="An empty text has no meaning; probably something is missing.",
        fails={"signals": {"2": {"duties": [""]}}},
    ),
    _form(
        "duplicate-item",
        summary="the same name twice in one list",
        why="Once is enough; probably another name is meant.",
        fails={"platforms": {"A": {"tracks": ["main", "main"]}}},
    ),
    _form(
        "exclusive-keys",
        summary="two keys that exclude each other",
        why="Both give the same thing in two ways, and could contradict each other.",
        fails={"points": {"p1": {"angle_degrees": 7.2}}},
    ),
)
