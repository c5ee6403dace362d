"""The pages of the rules on reading: the text of a plan must be valid, unambiguous JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Callable

_JSON = "RFC 8259, The JavaScript Object Notation (JSON) Data Interchange Format (IETF, 2017)"
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
    """Return a rule on reading: all are errors, and most have the same passing example."""
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
    """Return a plan with a note of seventy nested lists."""
    return '{"note": ' + "[" * 70 + "]" * 70 + "}"


def _long() -> str:
    """Return a plan with a note of nine million letters."""
    return '{"note": "' + "a" * 9_000_000 + '"}'


TEXT_RULES: tuple[Rule, ...] = (
    _reading(
        "not-utf8",
        summary="a file that is not UTF-8",
        why="Programs exchange JSON in UTF-8; in another encoding they read wrong letters.",
        source=f"{_JSON}, section 8.1",
        fails='{"title": "Quai d\u00e9sert"}'.encode("latin-1"),
    ),
    _reading(
        "byte-order-mark",
        summary="a byte-order mark before the text",
        why="JSON does not allow it, and some programs reject it.",
        source=f"{_JSON}, section 8.1",
        fails="\ufeff" + _PLAN,
    ),
    _reading(
        "empty-file",
        summary="an empty file",
        why="An empty file contains no plan.",
        source=_JSON,
        fails="  \n",
    ),
    _reading(
        "not-json",
        summary="a text that is not valid JSON",
        why="Programs may read invalid JSON in different ways, or not at all.",
        source=_JSON,
        fails=_PLAN.replace('"buffer",', '"buffer"'),
    ),
    _reading(
        "duplicate-key",
        summary="a key that occurs twice in one object",
        why="Most programs keep one of the two without a warning, and not all the same one.",
        source=f"{_JSON}, section 4: names within an object should be unique",
        fails=_PLAN.replace('"up": "buffer"', '"up": "buffer", "up": "edge:y"'),
    ),
    _reading(
        "not-a-number",
        summary="NaN or Infinity",
        why="They are not valid JSON, and no measure of a layout.",
        source=f"{_JSON}, section 6",
        fails=_PLAN.replace('"buffer",', '"buffer", "length_mm": NaN,'),
        passes=_PLAN.replace('"buffer",', '"buffer", "length_mm": 900,'),
    ),
    _reading(
        "number-out-of-range",
        summary="a number too large to calculate with",
        why="Programs would read it as infinite, or reject it.",
        source=f"{_JSON}, section 6",
        fails=_PLAN.replace('"buffer",', '"buffer", "length_mm": 1e999,'),
        passes=_PLAN.replace('"buffer",', '"buffer", "length_mm": 900,'),
    ),
    _reading(
        "trailing-text",
        summary="text after the end of the plan",
        why="One file is one plan; some programs would read the rest, and others would lose it.",
        source=f"{_JSON}, section 2",
        fails=_PLAN + " }",
    ),
    _reading(
        "too-deep",
        summary="brackets more than 64 deep",
        why="No plan needs such depth; it can make a program crash.",
        source=f"the format; {_JSON}, section 9: a reader may set limits on depth",
        fails=_deep,
    ),
    _reading(
        "too-long",
        summary="a file over 8 MiB",
        why="No plan of a model railway is that long, so such a file is probably not a plan.",
        source=f"the format; {_JSON}, section 9: a reader may set limits on size",
        fails=_long,
    ),
    _reading(
        "not-a-plan",
        summary="JSON that is not an object in braces",
        why="A plan is an object, with a key for each kind of thing.",
        source="the format",
        fails="[]",
    ),
)
