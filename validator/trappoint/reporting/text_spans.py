"""Where the value that a finding is about begins and ends in its line."""

from __future__ import annotations

import re
from typing import NamedTuple

from trappoint.reporting.excerpt import SourceLines

_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"?|[\w.+-]+|.')


class TextSpot(NamedTuple):
    """A place in a text: line and columns count characters from 1; the end is just behind it."""

    line: int
    column: int
    end: int
    shown: str
    """The whole line, empty if there is none or where it is too long to be shown."""


MAX_TEXT = 400
"""Lines with more characters are not shown whole."""


class Spots:
    """Finds spots in one text."""

    def __init__(self, text: str) -> None:
        self._lines = SourceLines(text)

    def spot(self, line: int, column: int) -> TextSpot:
        """Return the spot that begins at this line and column.

        It is as long as the text, number or word there, and one character long where a list or an
        object begins.
        """
        text = self._lines.line(line) or ""
        found = _TOKEN.match(text, column - 1) if column > 0 else None
        end = found.end() + 1 if found else column
        return TextSpot(line, column, end, text if len(text) <= MAX_TEXT else "")
