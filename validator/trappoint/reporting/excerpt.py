"""The line of a plan with a finding, and a mark under the place."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from trappoint.core.terminal import width_of, width_of_char

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions

TAB = 4
"""Columns between tab stops."""

_NEAR = 400
"""Characters read on either side of the place: more never fit into a line."""

_GAP = "..."
_VALUE = re.compile(r'"(?:[^"\\]|\\.)*"?|[\w.+-]+|.')


class SourceLines:
    """The lines of a text, split on first use."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._lines: list[str] | None = None

    def line(self, number: int) -> str | None:
        """Return a line, counted from 1, without its end; None if there is no such line."""
        if self._lines is None:
            # Not splitlines: it also splits at form feeds and other characters.
            self._lines = re.split(r"\r\n|\r|\n", self._text)
        return self._lines[number - 1] if 0 < number <= len(self._lines) else None


def excerpt(line: str, column: int, before: str, look: RenderOptions) -> tuple[str, str]:
    """Return the source line to print, and the line with the mark below it.

    ``column`` counts characters from 1, and may be just behind the end. Leading spaces are left
    out, long lines are cut around the place; ``before`` is the start of the line.
    """
    at = min(max(column - 1, 0), len(line))
    start = min(len(line) - len(line.lstrip(" \t")), at)
    cut_left = at - start > _NEAR
    if cut_left:
        start = at - _NEAR
    stop = min(len(line), at + _NEAR)
    cells, widths = _cells(line[start:stop], look)
    found = _VALUE.match(line, at, stop)
    first, last = at - start, (found.end() if found else at + 1) - start
    low, high = _window(widths, first, last, look.width - len(before), cut_left, stop < len(line))
    left = _GAP if cut_left or low else ""
    right = _GAP if stop < len(line) or high < len(cells) else ""
    shown = before + left + "".join(cells[low:high]) + right
    indent = len(before) + len(left) + sum(widths[low:first])
    return shown.rstrip(), " " * indent + _mark(sum(widths[first : min(last, high)]))


def _cells(text: str, look: RenderOptions) -> tuple[list[str], list[int]]:
    """Return the text for each character, and its width in columns."""
    cells: list[str] = []
    widths: list[int] = []
    used = 0
    for char in text:
        cell = " " * (TAB - used % TAB) if char == "\t" else look.cell(char)
        width = width_of_char(cell) if len(cell) == 1 else width_of(cell)
        cells.append(cell)
        widths.append(width)
        used += width
    return cells, widths


def _window(
    widths: list[int], first: int, last: int, room: int, cut_left: bool, cut_right: bool
) -> tuple[int, int]:
    """Return the first cell to show and the one after the last; the marked ones are shown."""
    gaps = len(_GAP) * (cut_left + cut_right)
    if sum(widths) + gaps <= room:
        return 0, len(widths)
    low = 0
    before, marked = sum(widths[:first]), sum(widths[first:last])
    if cut_left or before + marked > room - 2 * len(_GAP):
        # Up to a third of the room is for the cells behind the place.
        behind = min(sum(widths[last:]), room // 3)
        keep = max(room // 4, room - 2 * len(_GAP) - marked - behind)
        low = first
        while low and sum(widths[low - 1 : first]) <= keep:
            low -= 1
    high, used = low, 0
    room -= len(_GAP) * (bool(low) or cut_left) + len(_GAP)
    while high < len(widths) and used + widths[high] <= room:
        used += widths[high]
        high += 1
    return low, high


def _mark(width: int) -> str:
    """Return the mark for a value of this width in columns."""
    return "^" if width < 2 else f"\\{'_' * (width - 2)}/"
