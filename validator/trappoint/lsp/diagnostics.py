"""The findings by file: the check of a plan may also find mistakes in its boards' files."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.dedup import ToldAlready, is_known, levels_by_place

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint import Finding


class PlacedFinding(NamedTuple):
    """A finding, and the text to which its line and column refer."""

    finding: Finding
    text: str


class DiagnosticsStore:
    """The findings of all open plans, by file."""

    def __init__(self) -> None:
        self._by_source: dict[str, dict[str, list[PlacedFinding]]] = {}

    def put(self, source: str, found: dict[str, list[PlacedFinding]]) -> set[str]:
        """Store the findings of a plan's check; return the files whose findings may change.

        Files are named by their URIs.
        """
        before = self._by_source.get(source, {})
        self._by_source[source] = found
        return {source, *before, *found}

    def drop(self, source: str) -> set[str]:
        """Forget the findings of a plan's check; return the files that they were in."""
        return {source, *self._by_source.pop(source, {})}

    def of(self, target: str) -> list[PlacedFinding]:
        """Return the findings in a file.

        A board's own findings are not repeated for an assembled plan, unless they are graver there.
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
