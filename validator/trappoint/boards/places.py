"""Finds the file, and the place in it, that a place of the whole comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.boards.turning import OTHER
from trappoint.core.findings import pointer_to
from trappoint.source.positions import parts_of

if TYPE_CHECKING:
    from trappoint.boards.collecting import BoardPart
    from trappoint.boards.merging import Lists


class FileSpot(NamedTuple):
    """A place in the file of one plan."""

    part: BoardPart
    pointer: str


class BoardPlaces:
    """A map from pointers of the whole to places in files."""

    def __init__(self, parts: list[BoardPart], lists: Lists, edges: dict[str, str]) -> None:
        self._parts = {part.name: part for part in parts}
        self._edges = edges
        self._lists = lists

    def spot(self, pointer: str) -> FileSpot:
        """Return the plan and the place in it that a pointer of the whole refers to."""
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
        """Return the pointer within one plan for a pointer of the whole.

        If the place is a list entry from another plan, the pointer to the list is returned.
        """
        steps: list[str | int] = list(parts_of(pointer))
        if len(steps) > 1 and steps[0] in self._lists:
            board, number = self._lists[str(steps[0])][int(steps[1])]
            steps[1:] = [number, *steps[2:]] if board == part.name else []
        if part.turned and steps[:1] == ["tracks"]:
            steps[2:3] = [OTHER.get(str(step), step) for step in steps[2:3]]
        return pointer_to(*(str(step).removeprefix(part.prefix) for step in steps))

    def _board(self, steps: list[str]) -> str:
        """Return the name in the whole of the board whose plan has a place."""
        if len(steps) < 2:
            return ""
        if steps[0] in self._lists:
            return self._lists[steps[0]][int(steps[1])][0]
        if steps[0] == "edges" and steps[1] in self._edges:
            return self._edges[steps[1]]  # The whole may describe the edges of its boards.
        name = steps[1].rpartition("/")[0]
        return name if name in self._parts else ""
