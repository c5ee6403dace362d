"""The text below a diagram: its findings and the caution, spread over sheets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_SHORT
from trappoint.drawing.contents import TRACK_SIZE
from trappoint.drawing.svg_elements import RED, tag, words
from trappoint.drawing.text_width import shortened, width_of, wrap

if TYPE_CHECKING:
    from trappoint.core.findings import Finding
    from trappoint.drawing.finding_marks import Marked

Numbered = tuple[int, "Finding"]

SMALL, CAUTION = 10.0, 12.0
"""The size of the smallest letters: 1.8 mm on a sheet of A4 or A3."""

LINE, BETWEEN = 13.0, 2.0
"""The height of a line; the room between two findings."""


def draw_foot(marked: Marked | None, left: float, top: float, width: float) -> tuple[str, float]:
    """Return the findings and the caution, and the height at which they end."""
    drawn, y = [], top
    numbered = marked.numbered if marked else ()
    aside = _aside(numbered)
    for number, finding in numbered:
        drawn.append(words(f" [{number}]", left, y + 10, TRACK_SIZE, fill=RED))
        for line in _lines(finding, width, aside):
            drawn.append(words(line, left + aside, y + 10, TRACK_SIZE))
            y += LINE
        y += BETWEEN
    for line in wrap(CAUTION_SHORT, SMALL, max(width, 200)):
        drawn.append(words(line, left, y + 12, SMALL, font_style="italic", class_="caution"))
        y += CAUTION
    return tag("g", "".join(drawn), class_="foot"), y


def _aside(numbered: tuple[Numbered, ...]) -> float:
    """Return how far to the right findings begin, beside their numbers."""
    numbers = [width_of(f"[{number}]", TRACK_SIZE, bold=True) for number, _ in numbered]
    return max([28.0, *(number + 6 for number in numbers)])


def _lines(finding: Finding, width: float, aside: float) -> list[str]:
    text = f"{finding.level}: {finding.message}"
    return wrap(shortened(text, 2000), TRACK_SIZE, max(width - aside - 2, 200))


def spread_findings(
    numbered: tuple[Numbered, ...], width: float, first: float, other: float
) -> list[tuple[Numbered, ...]]:
    """Spread findings over sheets, at least one to each sheet but the first.

    ``first`` is the room for them on the first sheet, ``other`` that on each further one.
    """
    sheets: list[list[Numbered]] = [[]]
    room = first
    aside = _aside(numbered)
    for one in numbered:
        high = LINE * len(_lines(one[1], width, aside)) + BETWEEN
        if high > room and (sheets[-1] or len(sheets) == 1):
            sheets.append([])
            room = other
        sheets[-1].append(one)
        room -= high
    return [tuple(sheet) for sheet in sheets]
