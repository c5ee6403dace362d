"""What is common to everything printed for people: width, wrapping, colour, odd characters."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from trappoint.core.findings import Level

_CODES = {"error": "31", "warning": "33", "note": "36", "good": "32", "strong": "1", "faint": "2"}
"""SGR parameters (ECMA-48, section 8.3.117): red, yellow, cyan, green, bold, faint."""

_BEYOND_ONE_COLUMN = 0x300
"""Below this every printable character takes one column."""

WIDTH = 80
"""The columns that everything printed for people keeps to."""


class RenderOptions(NamedTuple):
    """How to write for the one who reads."""

    colour: bool = False
    width: int = 80
    """Columns that lines keep to, where words are short enough."""
    encoding: str = "utf-8"
    """Characters that it lacks are written as escapes."""
    floor: Level = "error"
    """The least level that stands in the way: reports that know only good and bad need it."""

    def paint(self, text: str, kind: str) -> str:
        """Return the text in the colour of its kind, where there is colour."""
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
        """Break a text into lines.

        ``first`` stands before the first line, ``later`` before the others (default: as many
        spaces). Words too long for a line are left whole, so that they can still be copied.
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
    """Return the columns that a text takes on a terminal."""
    if text.isascii():
        return len(text)
    return sum(map(width_of_char, text))


def width_of_char(char: str) -> int:
    """Return the columns of one character: wide ones take two, combining ones none.

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
