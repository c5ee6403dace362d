"""Values of a document, put into words for a message."""

from __future__ import annotations

_LONGEST = 60
_MAX_WORDS = 60


def quoted(text: str) -> str:
    """Return text in double quotes, in one line, shortened where it is long.

    Characters that cannot be seen are written as JSON writes them.
    """
    if len(text) > _LONGEST:
        text = text[: _LONGEST - 3] + "..."
    text = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{visible(text)}"'


def described(value: object) -> str:
    """Say what a JSON value is: ``the text "900"``, ``the number 5``, ``a list``."""
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
    """Write a number as a reader would: no ``.0`` at the end, shortened where it is long."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        value = int(value)
    digits = repr(value)
    return digits if len(digits) <= _LONGEST else digits[: _LONGEST - 3] + "..."


def listed(words: list[str] | tuple[str, ...], last: str = "or") -> str:
    """Join words to a list as it is spoken: ``a, b or c``. Very long lists are cut."""
    if len(words) < 2:
        return "".join(words)
    if len(words) > _MAX_WORDS:
        return f"{', '.join(words[:_MAX_WORDS])} {last} {len(words) - _MAX_WORDS:,} more"
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def visible(text: str) -> str:
    """Return text with what cannot be seen or printed in it written as an escape."""
    return "".join(char if char.isprintable() else _escape(char) for char in text)


def _escape(char: str) -> str:
    code = ord(char)
    if code > 0xFFFF:
        return f"\\U{code:08x}"
    return {"\n": "\\n", "\r": "\\r", "\t": "\\t"}.get(char, f"\\u{code:04x}")


def millimetres(length: float) -> str:
    """Write a length: to the millimetre, small ones to the tenth."""
    return f"{length:,.0f} mm" if length >= 100 else f"{round(length, 1):g} mm"
