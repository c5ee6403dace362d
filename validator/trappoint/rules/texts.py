"""The documentation of the rules of reading: what a text must be before it can be a plan."""

from __future__ import annotations

from trappoint.rules.rule import Rule

_JSON = "RFC 8259, The JavaScript Object Notation (JSON) Data Interchange Format"
_PLAN = '{"format": "trappoint-layout/1", "tracks": {"a": {"up": "buffer", "down": "edge:x"}}}'


def _reading(
    id_: str, summary: str, why: str, source: str, fails: str | bytes, passes: str = _PLAN
) -> Rule:
    return Rule(id_, "error", "reading", summary, why, source, fails, passes)


def _deep() -> str:
    """A note with seventy lists in one another."""
    return '{"note": ' + "[" * 70 + "]" * 70 + "}"


def _long() -> str:
    """A plan with a note of nine million letters."""
    return '{"note": "' + "a" * 9_000_000 + '"}'


TEXT_RULES: tuple[Rule, ...] = (
    _reading(
        "not-utf8",
        "a file that is not UTF-8",
        "JSON between programs is UTF-8; other encodings make letters into others.",
        f"{_JSON}, section 8.1",
        '{"title": "Quai d\u00e9sert"}'.encode("latin-1"),
    ),
    _reading(
        "byte-order-mark",
        "a byte-order mark before the text",
        "JSON has none, and some readers stumble over it.",
        f"{_JSON}, section 8.1",
        "\ufeff" + _PLAN,
    ),
    _reading("empty-file", "a file with nothing in it", "There is no plan in it.", _JSON, "  \n"),
    _reading(
        "not-json",
        "a text that breaks the rules of JSON",
        "A text that can be read in two ways is read in the wrong one some day.",
        _JSON,
        _PLAN.replace('"buffer",', '"buffer"'),
    ),
    _reading(
        "duplicate-key",
        "a key that stands twice in one object",
        "Readers keep one of the two and say nothing; which one differs.",
        f"{_JSON}, section 4: names within an object should be unique",
        _PLAN.replace('"up": "buffer"', '"up": "buffer", "up": "edge:y"'),
    ),
    _reading(
        "not-a-number",
        "NaN or Infinity",
        "They are no JSON, and no length.",
        f"{_JSON}, section 6",
        _PLAN.replace('"buffer",', '"buffer", "length_mm": NaN,'),
        _PLAN.replace('"buffer",', '"buffer", "length_mm": 900,'),
    ),
    _reading(
        "number-out-of-range",
        "a number too large to be held exactly enough",
        "It would be read as infinite, or not at all.",
        f"{_JSON}, section 6",
        _PLAN.replace('"buffer",', '"buffer", "length_mm": 1e999,'),
        _PLAN.replace('"buffer",', '"buffer", "length_mm": 900,'),
    ),
    _reading(
        "trailing-text",
        "text after the end of the plan",
        "One file is one plan; what follows would be read by some and lost by others.",
        f"{_JSON}, section 2",
        _PLAN + " }",
    ),
    Rule(
        "too-deep",
        "error",
        "reading",
        "brackets more than 64 deep",
        "No plan is so deep; a text that is was made to overwhelm its reader.",
        f"the format; {_JSON}, section 9: a reader may set limits on depth",
        _deep,
        _PLAN,
    ),
    Rule(
        "too-long",
        "error",
        "reading",
        "a file over 8 MiB",
        "No plan is so long; a file that is was most likely no plan at all.",
        f"the format; {_JSON}, section 9: a reader may set limits on size",
        _long,
        _PLAN,
    ),
    _reading(
        "not-a-plan",
        "JSON that is not an object in braces",
        "A plan is an object with keys that say what everything is.",
        "the format",
        "[]",
    ),
)
