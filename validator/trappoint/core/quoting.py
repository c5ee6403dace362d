"""Turn values of a document into text for a message."""

from __future__ import annotations

_LONGEST = 60
_MAX_WORDS = 60


def quoted(text: str) -> str:
    """Return text in double quotes, in one line, shortened if it is long.

    Invisible characters become escapes, as in JSON.
    """
    if len(text) > _LONGEST:
        text = text[: _LONGEST - 3] + "..."
    text = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{visible(text)}"'


def described(value: object) -> str:
    """Return words for a JSON value, such as ``the text "900"``, ``the number 5`` or ``a list``."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f"the text {quoted(value)}"
    if isinstance(value, int | float):
        return f"the number {number(value)}"
    if isinstance(value, list):
        return "a list" if value else "an empty list"
    return "an object in braces"


def number(value: float) -> str:
    """Return a number as text, without ``.0`` at the end, shortened if it is long."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        value = int(value)
    digits = repr(value)
    return digits if len(digits) <= _LONGEST else digits[: _LONGEST - 3] + "..."


def listed(words: list[str] | tuple[str, ...], last: str = "or") -> str:
    """Return words as a list in a sentence: ``a, b or c``. A list of more than 60 is cut."""
    if len(words) < 2:
        return "".join(words)
    if len(words) > _MAX_WORDS:
        return f"{', '.join(words[:_MAX_WORDS])} {last} {len(words) - _MAX_WORDS:,} more"
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def visible(text: str) -> str:
    """Return text with its invisible characters as escapes."""
    return "".join(char if char.isprintable() else _escape(char) for char in text)


def _escape(char: str) -> str:
    code = ord(char)
    if code > 0xFFFF:
        return f"\\U{code:08x}"
    return {"\n": "\\n", "\r": "\\r", "\t": "\\t"}.get(char, f"\\u{code:04x}")


def millimetres(length: float) -> str:
    """Return a length in mm as text: in whole mm from 100 mm, in tenths of a mm below that."""
    return f"{length:,.0f} mm" if length >= 100 else f"{round(length, 1):g} mm"
