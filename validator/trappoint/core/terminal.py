"""Width, wrapping, colour and unusual characters of the text printed for people."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from trappoint.core.findings import Level

_CODES = {"error": "31", "warning": "33", "note": "36", "good": "32", "strong": "1", "faint": "2"}
"""SGR parameters (ECMA-48, section 8.3.117): red, yellow, cyan, green, bold, faint."""

_BEYOND_ONE_COLUMN = 0x300
"""The first character code that may take no column or two; every lower one takes one."""

WIDTH = 80
"""The width of text printed for people, in columns."""


class RenderOptions(NamedTuple):
    """The options for printed text and for the output formats."""

    colour: bool = False
    width: int = 80
    """Limit on the width of a line, in columns; a longer word exceeds it."""
    encoding: str = "utf-8"
    """The encoding of the output; characters that it lacks are written as escapes."""
    floor: Level = "error"
    """The lowest level that fails a check, for formats that only know pass and fail."""
    most_lines: int | None = None
    """Lines of findings printed for each plan in text; None for all."""
    only_some: bool = False
    """True if files without findings are not reported; then no totals are printed."""
    excluded: int = 0
    """The number of named files that are excluded, for the totals."""

    def paint(self, text: str, kind: str) -> str:
        """Return the text in the colour of its kind, unchanged if colour is off."""
        return f"\x1b[{_CODES[kind]}m{text}\x1b[0m" if self.colour else text

    def clean(self, text: str) -> str:
        """Return the text with every character visible and harmless to a terminal."""
        if text.isascii() and text.isprintable():
            return text
        return "".join([self.cell(char) for char in text])

    def cell(self, char: str) -> str:
        """Return what is shown for one character: itself, a space, or an escape."""
        if not char.isprintable():
            return " " if char.isspace() and char >= "\xa0" else _escape(char)
        try:
            char.encode(self.encoding)
        except (UnicodeEncodeError, LookupError):
            return _escape(char)
        return char

    def wrap(self, text: str, first: str = "", later: str | None = None) -> list[str]:
        """Return a text as lines no wider than ``width``.

        ``first`` is the start of the first line, ``later`` that of the others (default: as many
        spaces). A word too long for a line stays whole, so that people can copy it.
        """
        later = " " * width_of(first) if later is None else later
        lines: list[str] = []
        line, used, begun = first, width_of(first), False
        for word in self.clean(text).split(" "):
            if not word:
                continue
            needed = width_of(word)
            if begun and used + 1 + needed > self.width:
                lines.append(line)
                line, used, begun = later, width_of(later), False
            line += f" {word}" if begun else word
            used += needed + begun
            begun = True
        lines.append(line)
        return lines


def _escape(char: str) -> str:
    return ascii(char)[1:-1]


def width_of(text: str) -> int:
    """Return the width of a text on a terminal, in columns."""
    if text.isascii():
        return len(text)
    return sum(map(width_of_char, text))


def width_of_char(char: str) -> int:
    """Return the columns of one character: two for a wide one, none for a combining one.

    Source: Unicode Standard Annex 11, East Asian Width.
    """
    if ord(char) < _BEYOND_ONE_COLUMN:
        return 1
    import unicodedata

    if unicodedata.combining(char) or unicodedata.category(char) in ("Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(char) in "WF" else 1


def plural(count: int, one: str, many: str = "") -> str:
    """Return a count with its noun: ``1 error``, ``2 errors``."""
    return f"{count} {one if count == 1 else many or one + 's'}"
