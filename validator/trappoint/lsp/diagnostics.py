"""What was found in which file: the check of one plan may find something in its boards' too."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.dedup import ToldAlready, is_known, levels_by_place

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint import Finding


class PlacedFinding(NamedTuple):
    """A finding, and the text in whose lines and columns it was placed."""

    finding: Finding
    text: str


class DiagnosticsStore:
    """The findings of all open plans, by the file that they stand in."""

    def __init__(self) -> None:
        self._by_source: dict[str, dict[str, list[PlacedFinding]]] = {}

    def put(self, source: str, found: dict[str, list[PlacedFinding]]) -> set[str]:
        """Take in what the check of a plan found; return the files of which that changes something.

        Both are named by what they are called everywhere else: their URIs.
        """
        before = self._by_source.get(source, {})
        self._by_source[source] = found
        return {source, *before, *found}

    def drop(self, source: str) -> set[str]:
        """Forget what the check of a plan found, and return the files that it was found in."""
        return {source, *self._by_source.pop(source, {})}

    def of(self, target: str) -> list[PlacedFinding]:
        """Return what was found in a file.

        What a board has by itself is not told again for the whole that it stands in, unless it is
        graver there.
        """
        own = self._by_source.get(target, {}).get(target, [])
        return [*own, *self._of_wholes(target, own)]

    def _of_wholes(self, target: str, own: list[PlacedFinding]) -> Iterator[PlacedFinding]:
        alone = levels_by_place(found.finding for found in own)
        told = ToldAlready()
        for source, by_target in self._by_source.items():
            for found in by_target.get(target, []) if source != target else ():
                finding = found.finding
                if not is_known(finding, alone) and not told.is_told(target, finding):
                    yield found
