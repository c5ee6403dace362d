"""What can be wrong with a text that should be strict JSON, in plain words."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from trappoint.core.quoting import quoted

_JSON = "Plans are JSON (RFC 8259), so that every program reads them alike."


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake in a text; ``at`` is the offset of the character that it is about."""

    at: int
    rule: str
    message: str
    why: str
    fix: str
    ends: bool = True
    """Whether the rest of the text has no meaning after it."""
    instead: str | None = None
    """What to write in place of what stands there, as in a finding."""


def not_json(
    at: int, message: str, fix: str, why: str = _JSON, *, instead: str | None = None
) -> Mistake:
    """Return a mistake of syntax."""
    return Mistake(at, "not-json", message, why, fix, instead=instead)


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
    """Return the mistake of nesting deeper than a document may."""
    return Mistake(
        at,
        "too-deep",
        f"More than {deepest} objects and lists stand inside one another here.",
        "No plan needs more than seven, and a check must end soon on anything.",
        "See whether brackets before this place were left open.",
    )


def unclosed(text: str, at: int) -> Mistake:
    """Return the mistake of an object, list or text that the file's end cuts off."""
    what, closer = {"{": ("object", "}"), "[": ("list", "]")}[text[at]]
    return not_json(
        at,
        f"The {what} that begins here is never closed.",
        f"Put {closer} where it ends. Perhaps the file was cut off.",
    )


def twice(at: int, key: str, first: tuple[int, int]) -> Mistake:
    """Return the mistake of a key that stands twice in one object."""
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
    """Return the mistake of a key without a colon after it."""
    if text[at : at + 1] == "=":
        said = "An equals sign stands between key and value."
        return not_json(at, said, "Write a colon.", instead=":")
    return not_json(
        ended,
        f"There is no colon after the key {quoted(key)}.",
        "Put a colon and a value after the key.",
    )


def not_a_number(at: int, word: str) -> Mistake:
    """Return the mistake of NaN or an infinity."""
    return Mistake(
        at,
        "not-a-number",
        f"{word} is not a number.",
        "JSON has no way to write it, and nothing on a layout measures so much.",
        "Write a number, or leave the key out where it is not known.",
        ends=False,
    )


def out_of_range(at: int, word: str) -> Mistake:
    """Return the mistake of a number that is too large to reckon with."""
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
    """Return the mistake of text after the end of the document."""
    char = text[at]
    if char in "}]":
        message = f"There is one {char} too many: everything was closed before it."
        fix = "Take it out, or look further up for a bracket that closes too early."
    elif _conflict(text, at):
        message, fix = _CONFLICT_LEFT, _CONFLICT_FIX
    elif _comment(text, at):
        message = "A comment stands after the end of the plan. JSON has no comments."
        fix = 'Take it out, or put its words into a "note".'
    else:
        message = "There is text after the end of the plan."
        fix = "Take it out. A file holds one plan, and nothing after it."
    return Mistake(at, "trailing-text", message, _JSON, fix)


def instead_of_comma(text: str, ended: int, at: int, opened: str) -> Mistake:
    """Return the mistake of what stands after an entry where a comma or an end should.

    ``ended`` is where the entry ended, ``at`` where the next thing begins.
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
        said = "A semicolon stands where a comma should."
        return not_json(at, said, "Write a comma.", instead=",")
    if char == ":":
        return not_json(
            at, "A colon stands after a value.", "Take it out, or put a comma before the next key."
        )
    known = _known(text, at)
    if known:
        return known
    said = "There is no comma between this entry and the next."
    return not_json(ended, said, "Put a comma here.", instead=",")


def instead_of_key(text: str, at: int, comma_at: int, opened: str) -> Mistake:
    """Return the mistake of what stands where a key should."""
    char = text[at]
    if char == "}":  # only after a comma
        return _last_comma(comma_at)
    if char == ",":
        return _comma_too_many(at)
    if char == "]":
        return not_json(at, f"] cannot close {opened}.", "Write } here.")
    return _known(text, at) or _bare_key(text, at)


def _bare_key(text: str, at: int) -> Mistake:
    char = text[at]
    word = re.compile(r"[\w.+-]*").match(text, at)
    if word and word.group():
        return not_json(
            at,
            f"The key {word.group()[:40]} must stand in double quotes.",
            f'Write "{word.group()[:40]}".',
            instead=f'"{word.group()}"',
        )
    if char in "{[":
        return not_json(
            at, f"{char} stands where a key should.", "Put a key and a colon before it."
        )
    return _strange(at, char, "a key in double quotes")


def instead_of_value(text: str, at: int, comma_at: int) -> Mistake:
    """Return the mistake of what stands where a value should.

    ``comma_at`` is where the comma before it stands, in a list; -1 where there is none.
    """
    char = text[at]
    if char == "]" and comma_at >= 0:
        return _last_comma(comma_at)
    if char == "," and comma_at >= 0:
        return _comma_too_many(at)
    if char in ",]}":
        before = "the comma" if char == "," else f"the closing {char}"
        return not_json(at, f"A value is missing before {before}.", "Write the value.")
    return _known(text, at) or _strange(at, char, "a value")


def broken_word(at: int, word: str) -> Mistake:
    """Return the mistake of a bare word where a value should stand."""
    right = {"none": "null", "nil": "null", "yes": "true", "no": "false", "on": "true"}
    right |= {"off": "false", "true": "true", "false": "false", "null": "null"}
    shown = word[:40]
    if word.lower() in right:
        meant = right[word.lower()]
        return not_json(
            at, f"{shown} is no value of JSON.", f'Write {meant}, or "{shown}" for the word itself.'
        )
    if word.lower() in ("nan", "inf", "infinity", "+infinity", "-inf", "+inf"):
        return not_a_number(at, shown)
    if word[0] in "+." and word[1:2].isdigit():
        return broken_number(at, word)
    said = f"The text {shown} must stand in double quotes."
    return not_json(at, said, f'Write "{shown}".', instead=f'"{word}"')


def broken_number(at: int, word: str) -> Mistake:
    """Return the mistake of a number that is not written as JSON writes numbers."""
    digits = word.lstrip("+-")
    shown = word[:40]
    if word.lower() in ("-inf", "-infinity", "-nan"):
        return not_a_number(at, shown)
    if re.fullmatch(r"0[xX][0-9a-fA-F]+", digits):
        fix = "Write it in decimal digits."
    elif re.fullmatch(r"0[0-9]+(\..*)?", digits):
        fix = "Take the zeros at its front out."
    elif word[0] == "+":
        fix = "Take the plus sign out."
    elif digits.startswith("."):
        fix = f"Put a 0 before the point: 0{digits[:40]}."
    elif re.fullmatch(r"[0-9]+\.", digits):
        fix = f"Take the point at its end out, or write {digits[:40]}0."
    elif re.fullmatch(r"[0-9.]+[a-zA-Z]+", digits):
        fix = "Write the number alone. Lengths are in millimetres, as the key says."
    else:
        fix = "Write digits, with a point before the decimals; text stands in double quotes."
    return not_json(at, f"{shown} is not a number as JSON writes it.", fix)


_CONFLICT = re.compile(r"<{7,} |\|{7,} |={7,}[\r\n]|>{7,} ")
_CONFLICT_LEFT = "A conflict between two versions was left in the file."
_CONFLICT_FIX = "Choose between the two versions, and take out the lines that git put in."
_QUOTES = "\u2018\u2019\u201a\u201c\u201d\u201e\u00ab\u00bb\u2039\u203a`\u00b4"


def _conflict(text: str, at: int) -> bool:
    return (at == 0 or text[at - 1] in "\r\n") and _CONFLICT.match(text, at) is not None


def _comment(text: str, at: int) -> bool:
    return text.startswith(("//", "/*", "#"), at)


def _known(text: str, at: int) -> Mistake | None:
    """Return the mistake of comments and of wrong quotes, wherever they stand."""
    if _conflict(text, at):
        return not_json(at, _CONFLICT_LEFT, _CONFLICT_FIX)
    if _comment(text, at):
        return not_json(at, "JSON has no comments.", 'Take it out, or put its words into a "note".')
    if text[at] == "'":
        return not_json(
            at, "Text must stand in double quotes, not in single ones.", "Write \" for '."
        )
    if text[at] in _QUOTES:
        return not_json(
            at,
            f"Text must stand in straight double quotes, not in {text[at]}.",
            'Write " before and after the text.',
        )
    return None


def _last_comma(comma_at: int) -> Mistake:
    said = "There is a comma after the last entry."
    return not_json(comma_at, said, "Take the comma out.", instead="")


def _comma_too_many(at: int) -> Mistake:
    return not_json(at, "There is one comma too many.", "Take the comma out.", instead="")


def _strange(at: int, char: str, wanted: str) -> Mistake:
    name = unicodedata.name(char, "").lower()
    shown = char if char.isprintable() and not char.isspace() else ""
    code = f"U+{ord(char):04X}" + (f", {name}" if name else "")
    what = f"The character {shown} ({code})" if shown else f"A character that is not seen ({code})"
    if ord(char) < 0x7F and shown:
        what = f"The character {shown}"
    return not_json(at, f"{what} stands where {wanted} should.", "Take it out.")
