"""Mistakes in the JSON of a text, each with a message and a fix.

Most mistakes are slips with a clear meaning: a comment, an extra comma, a word without quotes.
The scanner goes on after a slip.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from trappoint.core.quoting import number, quoted
from trappoint.core.spelling import length_in_mm

_JSON = "Plans are JSON (RFC 8259), so that every program reads them alike."


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake in a text; ``at`` is the offset of the wrong character."""

    at: int
    rule: str
    message: str
    why: str
    fix: str
    ends: bool = True
    """Whether the scanner stops at the mistake."""
    instead: str | None = None
    """The JSON to write instead, as in ``Finding``; None if there is no single correction."""
    mended: tuple[int, str] | None = None
    """For a slip: the number of characters to replace, and the new text; else None."""


def not_json(at: int, message: str, fix: str) -> Mistake:
    """Return a mistake of syntax that stops the scanner."""
    return Mistake(at, "not-json", message, _JSON, fix)


def slip(
    at: int, message: str, fix: str, mended: tuple[int, str], *, instead: str | None = None
) -> Mistake:
    """Return a mistake of syntax with a clear meaning; the scanner goes on after it."""
    return Mistake(at, "not-json", message, _JSON, fix, False, instead, mended)


BYTE_ORDER_MARK = Mistake(
    0,
    "byte-order-mark",
    "The file begins with a byte-order mark, a character that cannot be seen.",
    "In UTF-8 it says nothing, RFC 8259 section 8.1 forbids it, and many programs stumble on it.",
    'Save the file as UTF-8 without a byte-order mark (some editors say "BOM" or "signature").',
    ends=False,
)

EMPTY = Mistake(
    0,
    "empty-file",
    "The file is empty.",
    "There is no plan to check.",
    'Begin with {"format": "trappoint-layout/1", "tracks": { ... }}.',
)


def too_deep(at: int, deepest: int) -> Mistake:
    """Return the mistake for objects and lists nested too deep."""
    return Mistake(
        at,
        "too-deep",
        f"More than {deepest} objects and lists stand inside one another here.",
        "No plan needs more than seven, and a check must end soon on anything.",
        "See whether brackets before this place were left open.",
    )


def unclosed(text: str, at: int) -> Mistake:
    """Return the mistake for an object or a list that is never closed."""
    what, closer = {"{": ("object", "}"), "[": ("list", "]")}[text[at]]
    return not_json(
        at,
        f"The {what} that begins here is never closed.",
        f"Put {closer} where it ends. Perhaps the file was cut off.",
    )


def twice(at: int, key: str, first: tuple[int, int]) -> Mistake:
    """Return the mistake for a key that an object has twice."""
    return Mistake(
        at,
        "duplicate-key",
        f"The key {quoted(key)} stands twice in this object: "
        f"first in line {first[0]}, column {first[1]}.",
        "Most programs keep one of the two without a word, and not all of them the same one.",
        "Rename one of them, or take it out.",
        ends=False,
    )


def no_colon(text: str, key: str, ended: int, at: int) -> Mistake:
    """Return the mistake for a key without a colon after it."""
    if text[at : at + 1] == "=":
        message = "An equals sign stands between key and value."
        return slip(at, message, "Write a colon.", (1, ":"), instead=":")
    return not_json(
        ended,
        f"There is no colon after the key {quoted(key)}.",
        "Put a colon and a value after the key.",
    )


def not_a_number(at: int, word: str) -> Mistake:
    """Return the mistake for NaN or an infinity."""
    return Mistake(
        at,
        "not-a-number",
        f"{word} is not a number.",
        "JSON cannot express it, and no layout is that large.",
        "Write a number, or remove the key if the value is unknown.",
        ends=False,
    )


def out_of_range(at: int, word: str) -> Mistake:
    """Return the mistake for a number that is too large for a double."""
    digits = word if len(word) <= 20 else f"{word[:17]}..."
    return Mistake(
        at,
        "number-out-of-range",
        f"The number {digits} is too large to reckon with.",
        "Programs would read it as infinite, or each in its own way.",
        "Write a number that can be measured on a layout.",
        ends=False,
    )


def instead_of_end(text: str, at: int) -> Mistake:
    """Return the mistake for text after the end of the document."""
    char = text[at]
    if char in "}]":
        message = f"There is one {char} too many: everything was closed before it."
        fix = "Take it out, or look further up for a bracket that closes too early."
    elif _conflict(text, at):
        message, fix = _CONFLICT_LEFT, _CONFLICT_FIX
    else:
        message = "There is text after the end of the plan."
        fix = "Take it out. A file holds one plan, and nothing after it."
    return Mistake(at, "trailing-text", message, _JSON, fix)


_BEGINS_ENTRY = re.compile(r"""["']|[\w.+-]+[ \t]*[:=]""")
_BEGINS_ITEM = re.compile(r"""["'{\[]|-?[0-9]""")


def instead_of_comma(text: str, ended: int, at: int, opened: str, *, in_list: bool) -> Mistake:
    """Return the mistake for an entry without a comma or a closing bracket after it.

    ``ended`` is the offset where the entry ends, ``at`` that of the next character.
    """
    char = text[at]
    if char in "}]":
        closer = "]" if char == "}" else "}"
        return not_json(
            at,
            f"{char} cannot close {opened}.",
            f"Write {closer} here, or close what is still open before it.",
        )
    if char == ";":
        message = "A semicolon stands where a comma should."
        return slip(at, message, "Write a comma.", (1, ","), instead=",")
    if char == ":":
        return not_json(
            at, "A colon stands after a value.", "Take it out, or put a comma before the next key."
        )
    known = _known(text, at)
    if known:
        return known
    message, fix = "There is no comma between this entry and the next.", "Put a comma here."
    begins = _BEGINS_ITEM if in_list else _BEGINS_ENTRY
    if begins.match(text, at):
        return slip(ended, message, fix, (0, ","), instead=",")
    return Mistake(ended, "not-json", message, _JSON, fix, instead=",")


def instead_of_key(text: str, at: int, opened: str) -> Mistake:
    """Return the mistake for anything else in place of a key."""
    char = text[at]
    if char == "]":
        return not_json(at, f"] cannot close {opened}.", "Write } here.")
    return _known(text, at) or _bare_key(text, at)


def _bare_key(text: str, at: int) -> Mistake:
    char = text[at]
    word = re.compile(r"[\w.+-]*").match(text, at)
    if word and word.group():
        right = f'"{word.group()}"'
        shown = word.group()[:40]
        message = f"The key {shown} must stand in double quotes."
        return slip(at, message, f'Write "{shown}".', (len(word.group()), right), instead=right)
    if char in "{[":
        return not_json(
            at, f"{char} stands where a key should.", "Put a key and a colon before it."
        )
    return _strange(at, char, "a key in double quotes")


def instead_of_value(text: str, at: int) -> Mistake:
    """Return the mistake for anything else in place of a value, or for a missing value."""
    char = text[at]
    if char in ",]}":
        before = "the comma" if char == "," else f"the closing {char}"
        return not_json(at, f"A value is missing before {before}.", "Write the value.")
    return _known(text, at) or _strange(at, char, "a value")


_TRUTHS = {"none": "null", "nil": "null", "true": "true", "false": "false", "null": "null"}
_PERHAPS_TRUTHS = {"yes": "true", "no": "false", "on": "true", "off": "false"}
_NOT_FINITE = ("nan", "inf", "infinity", "+infinity", "-inf", "+inf")


def broken_word(at: int, word: str) -> Mistake:
    """Return the mistake for a word without quotes in place of a value."""
    shown = word[:40]
    small = word.lower()
    meant = _TRUTHS.get(small) or _PERHAPS_TRUTHS.get(small)
    if meant:
        message = f"{shown} is no value of JSON."
        fix = f'Write {meant}, or "{shown}" for the word itself.'
        mended = (len(word), meant) if small in _TRUTHS else None
        return Mistake(at, "not-json", message, _JSON, fix, False, None, mended)
    if small in _NOT_FINITE:
        return not_a_number(at, shown)
    if word[0] in "+." and word[1:2].isdigit():
        return broken_number(at, word)
    message = f"The text {shown} must stand in double quotes."
    right = f'"{word}"'
    return slip(at, message, f'Write "{shown}".', (len(word), right), instead=right)


def broken_number(at: int, word: str) -> Mistake:
    """Return the mistake for a number in a form that JSON does not allow."""
    shown = word[:40]
    if word.lower() in ("-inf", "-infinity", "-nan"):
        return not_a_number(at, shown)
    fix, right = _number_meant(word, word.lstrip("+-"))
    mended = None if right is None else (len(word), ("-" if word[0] == "-" else "") + right)
    message = f"{shown} is not a number as JSON writes it."
    return Mistake(at, "not-json", message, _JSON, fix, False, None, mended)


def _number_meant(word: str, digits: str) -> tuple[str, str | None]:
    """Return the fix for a malformed number, and the number as JSON; None if it is not clear."""
    length = length_in_mm(digits)
    right: str | None = None
    fix = "Write digits, with a point before the decimals; put a text into double quotes."
    if re.fullmatch(r"0[xX][0-9a-fA-F]+", digits):
        fix = "Write it in decimal digits."
    elif found := re.fullmatch(r"0+([0-9]{1,15}(\.[0-9]{1,15})?)", digits):
        fix, right = "Take the zeros at its front out.", found[1]
    elif word[0] == "+":
        clear = re.fullmatch(r"[1-9][0-9]{0,15}(\.[0-9]{1,15})?", digits)
        fix, right = "Take the plus sign out.", digits if clear else None
    elif digits.startswith("."):
        clear = re.fullmatch(r"\.[0-9]{1,15}", digits)
        fix = f"Put a 0 before the point: 0{digits[:40]}."
        right = f"0{digits}" if clear else None
    elif re.fullmatch(r"[0-9]{1,15}\.", digits):
        fix = f"Take the point at its end out, or write {digits[:40]}0."
        right = f"{digits}0"
    elif length is not None:
        right = number(length)
        fix = f"Write {right}: lengths are in millimetres."
    elif re.fullmatch(r"[0-9.]+[a-zA-Z]+", digits):
        fix = "Write the number alone. Lengths are in millimetres, as the key says."
    return fix, right


_CONFLICT = re.compile(r"<{7,} |\|{7,} |={7,}[\r\n]|>{7,} ")
_CONFLICT_LEFT = "A conflict between two versions was left in the file."
_CONFLICT_FIX = "Choose between the two versions, and take out the lines that git put in."
_QUOTES = "\u2018\u2019\u201a\u201c\u201d\u201e\u00ab\u00bb\u2039\u203a`\u00b4"


def _conflict(text: str, at: int) -> bool:
    return (at == 0 or text[at - 1] in "\r\n") and _CONFLICT.match(text, at) is not None


_COMMENT = re.compile(r"(?://|#)[^\r\n]*|/\*.*?\*/", re.DOTALL)
_QUOTED = re.compile(
    rf"""'([^'"\\\x00-\x1f\ud800-\udfff]*)'|[{_QUOTES}]([^'"{_QUOTES}\\\x00-\x1f\ud800-\udfff]*)"""
    rf"""[{_QUOTES}"]"""
)


def comment_at(text: str, at: int) -> Mistake | None:
    """Return the mistake for a comment that begins at an offset; None if none begins there."""
    if not text.startswith(("//", "/*", "#"), at):
        return None
    found = _COMMENT.match(text, at)
    if found is None:
        return not_json(at, "The comment that begins here is never closed.", "Take it out.")
    blank = re.sub(r"[^\r\n]", " ", found.group())
    fix = 'Take it out, or put its words into a "note".'
    return slip(at, "JSON has no comments.", fix, (len(blank), blank))


def _known(text: str, at: int) -> Mistake | None:
    """Return the mistake for a git conflict or wrong quotes at an offset; None for other text."""
    if _conflict(text, at):
        return not_json(at, _CONFLICT_LEFT, _CONFLICT_FIX)
    char = text[at]
    if char == "'":
        message, fix = "Text must stand in double quotes, not in single ones.", "Write \" for '."
    elif char in _QUOTES:
        message = f"Text must stand in straight double quotes, not in {char}."
        fix = 'Write " before and after the text.'
    else:
        return None
    found = _QUOTED.match(text, at)
    if found is None:
        return not_json(at, message, fix)
    right = f'"{found[1] if found[1] is not None else found[2]}"'
    return slip(at, message, fix, (len(found.group()), right), instead=right)


def last_comma(comma_at: int) -> Mistake:
    """Return the mistake for a comma after the last entry."""
    message = "There is a comma after the last entry."
    return slip(comma_at, message, "Take the comma out.", (1, " "), instead="")


def comma_too_many(at: int) -> Mistake:
    """Return the mistake for a comma after another one, or before the first entry."""
    message = "There is one comma too many."
    return slip(at, message, "Take the comma out.", (1, " "), instead="")


def _strange(at: int, char: str, wanted: str) -> Mistake:
    name = unicodedata.name(char, "").lower()
    shown = char if char.isprintable() and not char.isspace() else ""
    code = f"U+{ord(char):04X}" + (f", {name}" if name else "")
    what = f"The character {shown} ({code})" if shown else f"A character that is not seen ({code})"
    if ord(char) < 0x7F and shown:
        what = f"The character {shown}"
    return not_json(at, f"{what} stands where {wanted} should.", "Take it out.")
