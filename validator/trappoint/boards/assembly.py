"""Plans that are put together from others: boards joined at their edges, checked as one.

Documents come in, and one document goes out, in which what stands on a board is called
``BOARD/ID``; from there on it is a plan like any other. ``BoardPlaces`` tells of each place of the
whole in which file it is written.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.boards.collecting import AssemblyError, BoardPart, Collector
from trappoint.boards.joining import join_edges
from trappoint.boards.merging import Promise, merge, promises, said_by
from trappoint.boards.places import BoardPlaces

if TYPE_CHECKING:
    from trappoint.source.files import Files
    from trappoint.source.reading import Document

__all__ = ["Assembly", "AssemblyError", "Board", "BoardPart", "Promise", "assemble", "list_boards"]


class Board(NamedTuple):
    """A board of a plan that is put together from others."""

    name: str
    """What the whole calls it: ``west``; ``station/west`` for a board of a board."""
    file: str
    """What its file is called in reports."""
    text: str
    """The text of its plan."""


@dataclass(frozen=True, slots=True)
class Assembly:
    """A plan put together, as far as that could be done."""

    data: dict[str, Any]
    """The whole, in the form of a document that the schema accepts but for its ids."""
    parts: tuple[BoardPart, ...]
    """The plan itself, and each of its boards, those of boards included."""
    places: BoardPlaces
    troubles: tuple[AssemblyError, ...]
    """What stands in the way of it. Nothing can be said of the whole where there is something."""
    promises: tuple[Promise, ...] = ()
    """The joined edges of which a plan says that its neighbour holds trains there."""

    @property
    def boards(self) -> tuple[Board, ...]:
        """The boards, in the order of their names in it."""
        named = (part for part in self.parts if part.name)
        return tuple(Board(part.name, part.file, part.document.text) for part in named)


def assemble(document: Document, files: Files | None) -> Assembly:
    """Put a plan together. Nothing is raised: what is in the way is in ``troubles``.

    ``files`` are those around the plan; None if there are none to be had.
    """
    collector = Collector(document, files)
    parts = collector.collect()
    joined, troubles = join_edges(parts, unknown_boards=collector.unread)
    data, lists, unmeasured = merge(parts, joined)
    found = (*collector.troubles, *troubles, *unmeasured)
    places = BoardPlaces(parts, lists, said_by(parts))
    return Assembly(data, tuple(parts), places, found, promises(parts, joined))


def list_boards(document: Document, files: Files) -> tuple[str, ...]:
    """Return the files that a plan is put together from, boards of boards included, each once.

    They are named as seen from the folder of the plan. Files that cannot be read are named too.
    """
    collector = Collector(document, files)
    collector.collect()
    return tuple(collector.paths)
