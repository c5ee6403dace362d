"""Suggest corrections for misspelt words, and read lengths with a unit."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable


class SpellingHints:
    """Suggestions for misspelt words, until the limit on comparisons is reached."""

    def __init__(self) -> None:
        self.left = _MAX_LETTERS

    def nearest(self, word: str, known: Collection[str]) -> str | None:
        """Return the known word nearest to this one; None if none is near, or at the limit."""
        if self.left < 0:
            return None
        near = len(word) // 3 + 1
        letters = sum(len(other) for other in known if abs(len(other) - len(word)) <= near)
        self.left -= len(word) * letters + 5 * len(known)
        return nearest(word, known) if self.left >= 0 else None


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word nearest to this one; None if none is near.

    A near word differs by at most one slip for every three letters (at least one slip is always
    allowed). A slip is a wrong, missing or extra letter, or two swapped neighbours. A word is also
    near if it continues the other after an underline or hyphen (``length`` and ``length_mm``).
    Capital letters make no difference. The first of equally near words is returned.
    """
    given = word.casefold()
    best: str | None = None
    fewest = max(1, len(given) // 3) + 1
    for candidate in known:
        other = candidate.casefold()
        if other == given:
            return candidate
        slips = 1 if _begins(given, other) or _begins(other, given) else None
        if slips is None and abs(len(given) - len(other)) < fewest and len(given) <= _LONGEST:
            slips = slips_between(given, other)
        if slips is not None and slips < fewest:
            best, fewest = candidate, slips
    return best


_MAX_LETTERS = 2_000_000
"""Limit on the pairs of letters that one ``SpellingHints`` compares."""

_LONGEST = 100
"""Limit on the letters of a word to compare: the time grows with the lengths of both words."""


def _begins(short: str, long: str) -> bool:
    return bool(short) and long.startswith((short + "_", short + "-"))


def slips_between(one: str, other: str) -> int:
    """Return the smallest number of slips that turn one word into the other.

    A slip is a letter added, removed or changed, or two neighbours swapped; no letter is changed
    twice (optimal string alignment distance).
    """
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        before, last, row = row, before, [i]
        for j, wanted in enumerate(other, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != wanted))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == wanted:
                cost = min(cost, last[j - 2] + 1)
            row.append(cost)
    return row[-1]


_MM_PER_UNIT = {
    **{"": 1.0, "mm": 1.0, "cm": 10.0, "m": 1000.0},
    **{"in": 25.4, "inch": 25.4, "inches": 25.4, "ft": 304.8, "foot": 304.8, "feet": 304.8},
}
_LENGTH = re.compile(
    r"([0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]{1,6})?|[0-9]{1,9}(?:[.,][0-9]{1,6})?)"
    r"[ \u00a0]*([a-z]*)\.?",
    re.ASCII,
)


def length_in_mm(text: str) -> float | None:
    """Return a length such as ``900 mm`` or ``90cm`` in mm; None for any other text."""
    found = _LENGTH.fullmatch(text.strip().lower())
    if found is None or found[2] not in _MM_PER_UNIT:
        return None
    digits = found[1]
    thousands = re.fullmatch(r"[0-9]{1,3}(,[0-9]{3})+(\.[0-9]+)?", digits)
    digits = digits.replace(",", "" if thousands else ".")
    return round(float(digits) * _MM_PER_UNIT[found[2]], 3)
