"""Assembled plans: boards joined at their edges and checked as one plan.

``assemble`` turns several documents into one, in which each id from a board is ``BOARD/ID``. The
result is checked like any other plan. ``BoardPlaces`` finds the file that a place of the whole is
written in.
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
    """A board of an assembled plan."""

    name: str
    """Its name in the whole: ``west``, or ``station/west`` for a board of a board."""
    file: str
    """The name of its file in reports."""
    text: str
    """The text of its plan."""


@dataclass(frozen=True, slots=True)
class Assembly:
    """An assembled plan, complete only if there are no troubles."""

    data: dict[str, Any]
    """The whole, as a document that the schema accepts except for the slashes in its ids."""
    parts: tuple[BoardPart, ...]
    """The plan itself and each of its boards, boards of boards included."""
    places: BoardPlaces
    troubles: tuple[AssemblyError, ...]
    """The errors that prevent the assembly. If there are any, the whole is not checked."""
    promises: tuple[Promise, ...] = ()
    """The joined edges that a plan declares as held by its neighbour."""

    @property
    def boards(self) -> tuple[Board, ...]:
        """The boards, in the order of ``parts``."""
        named = (part for part in self.parts if part.name)
        return tuple(Board(part.name, part.file, part.document.text) for part in named)


def assemble(document: Document, files: Files | None) -> Assembly:
    """Return the assembled plan. Errors are not raised: they are in ``troubles``.

    ``files`` reads the files around the plan; None if no file may be read.
    """
    collector = Collector(document, files)
    parts = collector.collect()
    joined, troubles = join_edges(parts, unknown_boards=collector.unread)
    data, lists, unmeasured = merge(parts, joined)
    found = (*collector.troubles, *troubles, *unmeasured)
    places = BoardPlaces(parts, lists, said_by(parts))
    return Assembly(data, tuple(parts), places, found, promises(parts, joined))


def list_boards(document: Document, files: Files) -> tuple[str, ...]:
    """Return the files of a plan's boards, boards of boards included, each once.

    The paths are relative to the folder of the plan. Files that cannot be read are included,
    except those outside the folder in which files may be read.
    """
    collector = Collector(document, files)
    collector.collect()
    return tuple(collector.paths)
