"""Conversion between offsets of a text and positions in an editor.

The Language Server Protocol (3.17, "Position") counts lines and characters from 0. A line ends at
LF, CR LF or CR, and at nothing else. What a character is, client and server agree upon: a code
unit of UTF-16 (which every client knows), of UTF-8, or a code point (``utf-32``).
"""

from __future__ import annotations

import re
from bisect import bisect_right
from typing import Literal, NamedTuple

Encoding = Literal["utf-8", "utf-16", "utf-32"]

_LINE_END = re.compile(r"\r\n|\r|\n")


class TextPlace(NamedTuple):
    """A line and a character, both from 0, in the agreed encoding."""

    line: int
    character: int


class TextPlaces:
    """Offsets and positions of one text."""

    def __init__(self, text: str, encoding: Encoding = "utf-16") -> None:
        self.text = text
        self.encoding = encoding
        self._starts = [0, *(found.end() for found in _LINE_END.finditer(text))]
        self._plain = text.isascii()

    def place(self, offset: int) -> TextPlace:
        """Return the position of an offset; the end of the text for one beyond it."""
        offset = min(max(offset, 0), len(self.text))
        line = bisect_right(self._starts, offset) - 1
        return TextPlace(line, self._units(self.text[self._starts[line] : offset]))

    def offset(self, line: int, character: int) -> int:
        """Return the offset of a place.

        A position beyond the end of a line means its end; one within a character means its start.
        """
        if line >= len(self._starts):
            return len(self.text)
        start = self._starts[max(line, 0)]
        following = self._starts[line + 1] if line + 1 < len(self._starts) else len(self.text)
        content = self.text[start:following].rstrip("\r\n")
        if self._plain or self.encoding == "utf-32":
            return start + min(max(character, 0), len(content))
        units = 0
        for number, char in enumerate(content):
            units += self._units(char)
            if units > character:
                return start + number
        return start + len(content)

    def offset_of(self, line: int, column: int) -> int:
        """Return the offset of a finding's line and column, which count characters from 1."""
        if not 0 < line <= len(self._starts):
            return 0
        return min(self._starts[line - 1] + max(column - 1, 0), len(self.text))

    def line_end(self, offset: int) -> int:
        """Return the offset at which the line of an offset ends."""
        found = _LINE_END.search(self.text, offset)
        return found.start() if found else len(self.text)

    def _units(self, text: str) -> int:
        if self._plain or self.encoding == "utf-32" or text.isascii():
            return len(text)
        if self.encoding == "utf-8":
            return len(text.encode("utf-8", "surrogatepass"))
        return len(text.encode("utf-16-le", "surrogatepass")) // 2
