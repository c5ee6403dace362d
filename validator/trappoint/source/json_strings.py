"""Read one string of a JSON text and find the first mistake in it."""

from __future__ import annotations

import re

from trappoint.core.quoting import visible
from trappoint.source.json_errors import Mistake, not_json

_PLAIN = re.compile(r'[^"\\\x00-\x1f\ud800-\udfff]*')
_ESCAPES = {
    '"': '"',
    "\\": "\\",
    "/": "/",
    "b": "\b",
    "f": "\f",
    "n": "\n",
    "r": "\r",
    "t": "\t",
}
_ESCAPED = re.compile(r'(?:[^"\\\x00-\x1f]|\\["\\/bfnrt]|\\u[0-9a-fA-F]{4})*+')
_HEX = re.compile(r"[0-9a-fA-F]{4}")


def read_string(text: str, at: int) -> tuple[str, int, Mistake | None]:
    """Read the string whose opening quote is at this offset.

    Return its value, the offset after its closing quote, and the first mistake in it (None if it
    has none). Ignore value and offset if the mistake stops the scanner (``ends``).
    """
    pieces: list[str] = []
    found: Mistake | None = None
    now = at + 1
    while True:
        plain = _PLAIN.match(text, now)
        if plain:
            pieces.append(plain.group())
            now = plain.end()
        char = text[now : now + 1]
        if char == '"':
            return "".join(pieces), now + 1, found
        if char == "\\":
            piece, after, mistake = _escape(text, now)
        elif "\ud800" <= char <= "\udfff":
            piece, after, mistake = char, now + 1, _half(now, f"U+{ord(char):04X}")
        else:
            return "", now, _broken_off(text, at, now)
        if mistake and mistake.ends:
            return "", now, mistake
        if mistake and found:
            # One mistake is enough: skip to the closing quote or a mistake that stops the scanner.
            passed = _ESCAPED.match(text, after)
            if passed:
                pieces.append(piece)
                piece, after = passed.group(), passed.end()
        found = found or mistake
        pieces.append(piece)
        now = after


def _escape(text: str, at: int) -> tuple[str, int, Mistake | None]:
    char = text[at + 1 : at + 2]
    if char in _ESCAPES:
        return _ESCAPES[char], at + 2, None
    if char != "u":
        if not char or char < " ":
            return "", at, not_json(at, "A backslash ends the line.", "Take it out.")
        return "", at, _bad_escape(at, f"\\{char}")
    return _unicode_escape(text, at)


def _unicode_escape(text: str, at: int) -> tuple[str, int, Mistake | None]:
    code = _unit(text, at)
    if code is None:
        return "", at, _bad_escape(at, text[at : at + 6].partition('"')[0].partition("\n")[0])
    if 0xD800 <= code <= 0xDBFF and text.startswith("\\u", at + 6):
        second = _unit(text, at + 6)
        if second is not None and 0xDC00 <= second <= 0xDFFF:
            return chr(0x10000 + ((code - 0xD800) << 10) + (second - 0xDC00)), at + 12, None
    if 0xD800 <= code <= 0xDFFF:
        return chr(code), at + 6, _half(at, text[at : at + 6])
    return chr(code), at + 6, None


def _unit(text: str, at: int) -> int | None:
    digits = _HEX.match(text, at + 2)
    return int(digits.group(), 16) if digits else None


def _bad_escape(at: int, written: str) -> Mistake:
    return not_json(
        at,
        f"{visible(written)} means nothing in a JSON text.",
        'After a backslash may stand: " \\ / b f n r t, or u and four hexadecimal digits. '
        "For a backslash itself write two.",
    )


def _half(at: int, written: str) -> Mistake:
    return Mistake(
        at,
        "not-json",
        f"{written} is half of a character: its other half is missing.",
        "Half a surrogate pair stands for nothing and cannot be written in UTF-8.",
        "Write the character itself, or both halves.",
        ends=False,
    )


def _broken_off(text: str, at: int, now: int) -> Mistake:
    char = text[now : now + 1]
    if not char:
        return not_json(
            at,
            "The text that begins here is never closed.",
            'Put " where it ends. Perhaps the file was cut off.',
        )
    if char in "\r\n":
        return not_json(
            at,
            "The text that begins here is not closed before its line ends.",
            'Put " where it ends. For a new line within a text write \\n.',
        )
    if char == "\t":
        return not_json(now, "A tab stands in a text.", "Write a space, or \\t.")
    return not_json(
        now,
        f"The control character U+{ord(char):04X} stands in a text.",
        "Take it out.",
    )
