"""Where each place of the whole is written: in which file, and where in it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.boards.turning import OTHER
from trappoint.core.findings import pointer_to
from trappoint.source.positions import parts_of

if TYPE_CHECKING:
    from trappoint.boards.collecting import BoardPart
    from trappoint.boards.merging import Lists


class FileSpot(NamedTuple):
    """A place of one file."""

    part: BoardPart
    pointer: str


class BoardPlaces:
    """Leads from pointers of the whole to the files in which things are written."""

    def __init__(self, parts: list[BoardPart], lists: Lists, edges: dict[str, str]) -> None:
        self._parts = {part.name: part for part in parts}
        self._edges = edges
        self._lists = lists

    def spot(self, pointer: str) -> FileSpot:
        """Return where the place that a pointer of the whole leads to is written."""
        steps = parts_of(pointer)
        part = self._parts[self._board(steps)]
        return FileSpot(part, self.seen_from(part, pointer))

    def boards(self, pointer: str) -> list[BoardPart]:
        """Return the plans that a place belongs to, from the innermost board to the whole."""
        name = self._board(parts_of(pointer))
        found = []
        while name:
            found.append(self._parts[name])
            name = name.rpartition("/")[0]
        return [*found, self._parts[""]]

    def seen_from(self, part: BoardPart, pointer: str) -> str:
        """Return a pointer of the whole as a plan that has the place writes it.

        An entry of a list that is written on a board of its own has no number there: the list is
        returned.
        """
        steps: list[str | int] = list(parts_of(pointer))
        if len(steps) > 1 and steps[0] in self._lists:
            board, number = self._lists[str(steps[0])][int(steps[1])]
            steps[1:] = [number, *steps[2:]] if board == part.name else []
        if part.turned and steps[:1] == ["tracks"]:
            steps[2:3] = [OTHER.get(str(step), step) for step in steps[2:3]]
        return pointer_to(*(str(step).removeprefix(part.prefix) for step in steps))

    def _board(self, steps: list[str]) -> str:
        """Return the board in whose plan a place is written, as the whole calls it."""
        if len(steps) < 2:
            return ""
        if steps[0] in self._lists:
            return self._lists[steps[0]][int(steps[1])][0]
        if steps[0] == "edges" and steps[1] in self._edges:
            return self._edges[steps[1]]  # A whole may speak about its board's edges.
        name = steps[1].rpartition("/")[0]
        return name if name in self._parts else ""
