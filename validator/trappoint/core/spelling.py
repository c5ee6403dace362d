"""The known word that a misspelt one most likely stands for."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable


class SpellingHints:
    """Looks for near words as long as that does not cost too much, then for none any more."""

    def __init__(self) -> None:
        self.left = _MAX_LETTERS

    def nearest(self, word: str, known: Collection[str]) -> str | None:
        """Return the known word nearest to this one, None if none is near or all is spent."""
        if self.left < 0:
            return None
        near = len(word) // 3 + 1
        letters = sum(len(other) for other in known if abs(len(other) - len(word)) <= near)
        self.left -= len(word) * letters + 5 * len(known)
        return nearest(word, known) if self.left >= 0 else None


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word nearest to this one, None if none is near.

    Near is: one slip (a letter wrong, missing, too many, or two neighbours changed places) for
    every three letters, at least one; or one word begins the other up to an underline or hyphen
    (``length`` and ``length_mm``). Capital letters count as small ones. Of words equally near
    the first is returned.
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
"""Pairs of letters that are compared for all hints of one kind together."""

_LONGEST = 100
"""Longer words are near to nothing: comparing costs the product of both lengths."""


def _begins(short: str, long: str) -> bool:
    return bool(short) and long.startswith((short + "_", short + "-"))


def slips_between(one: str, other: str) -> int:
    """Count the fewest slips that turn one word into the other.

    A slip is a letter put in, left out or changed, or two neighbours that changed places; no
    place is changed twice (optimal string alignment distance).
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
