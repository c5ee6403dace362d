"""The documentation of the rules of reading: what a text must be before it can be a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Callable

_JSON = "RFC 8259, The JavaScript Object Notation (JSON) Data Interchange Format"
_PLAN = '{"format": "trappoint-layout/1", "tracks": {"a": {"up": "buffer", "down": "edge:x"}}}'


def _reading(
    id_: str,
    *,
    summary: str,
    why: str,
    source: str,
    fails: str | bytes | Callable[[], str],
    passes: str = _PLAN,
) -> Rule:
    """Make a rule of reading: all have one level, and most pass on one plan."""
    return Rule(
        id=id_,
        level="error",
        stage="reading",
        summary=summary,
        why=why,
        source=source,
        fails=fails,
        passes=passes,
    )


def _deep() -> str:
    """A note with seventy lists in one another."""
    return '{"note": ' + "[" * 70 + "]" * 70 + "}"


def _long() -> str:
    """A plan with a note of nine million letters."""
    return '{"note": "' + "a" * 9_000_000 + '"}'


TEXT_RULES: tuple[Rule, ...] = (
    _reading(
        "not-utf8",
        summary="a file that is not UTF-8",
        why="JSON between programs is UTF-8; other encodings make letters into others.",
        source=f"{_JSON}, section 8.1",
        fails='{"title": "Quai d\u00e9sert"}'.encode("latin-1"),
    ),
    _reading(
        "byte-order-mark",
        summary="a byte-order mark before the text",
        why="JSON has none, and some readers stumble over it.",
        source=f"{_JSON}, section 8.1",
        fails="\ufeff" + _PLAN,
    ),
    _reading(
        "empty-file",
        summary="a file with nothing in it",
        why="There is no plan in it.",
        source=_JSON,
        fails="  \n",
    ),
    _reading(
        "not-json",
        summary="a text that breaks the rules of JSON",
        why="A text that can be read in two ways is read in the wrong one some day.",
        source=_JSON,
        fails=_PLAN.replace('"buffer",', '"buffer"'),
    ),
    _reading(
        "duplicate-key",
        summary="a key that stands twice in one object",
        why="Readers keep one of the two and say nothing; which one differs.",
        source=f"{_JSON}, section 4: names within an object should be unique",
        fails=_PLAN.replace('"up": "buffer"', '"up": "buffer", "up": "edge:y"'),
    ),
    _reading(
        "not-a-number",
        summary="NaN or Infinity",
        why="They are no JSON, and no length.",
        source=f"{_JSON}, section 6",
        fails=_PLAN.replace('"buffer",', '"buffer", "length_mm": NaN,'),
        passes=_PLAN.replace('"buffer",', '"buffer", "length_mm": 900,'),
    ),
    _reading(
        "number-out-of-range",
        summary="a number too large to be held exactly enough",
        why="It would be read as infinite, or not at all.",
        source=f"{_JSON}, section 6",
        fails=_PLAN.replace('"buffer",', '"buffer", "length_mm": 1e999,'),
        passes=_PLAN.replace('"buffer",', '"buffer", "length_mm": 900,'),
    ),
    _reading(
        "trailing-text",
        summary="text after the end of the plan",
        why="One file is one plan; what follows would be read by some and lost by others.",
        source=f"{_JSON}, section 2",
        fails=_PLAN + " }",
    ),
    _reading(
        "too-deep",
        summary="brackets more than 64 deep",
        why="No plan is so deep; a text that is was made to overwhelm its reader.",
        source=f"the format; {_JSON}, section 9: a reader may set limits on depth",
        fails=_deep,
    ),
    _reading(
        "too-long",
        summary="a file over 8 MiB",
        why="No plan is so long; a file that is was most likely no plan at all.",
        source=f"the format; {_JSON}, section 9: a reader may set limits on size",
        fails=_long,
    ),
    _reading(
        "not-a-plan",
        summary="JSON that is not an object in braces",
        why="A plan is an object with keys that say what everything is.",
        source="the format",
        fails="[]",
    ),
)
