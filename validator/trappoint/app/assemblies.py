"""The plans that have a given plan as a board, for hooks and for the editor."""

from __future__ import annotations

import os.path
from typing import TYPE_CHECKING

from trappoint.checking.check import board_files, may_have_boards
from trappoint.source.files import FilesOnDisk
from trappoint.source.reading import UnusableFile

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator

    from trappoint.app.discovery import PlanSource
    from trappoint.source.files import Files


def wholes_of(
    boards: Collection[str],
    among: Iterable[PlanSource],
    files_around: Callable[[str], Files] = FilesOnDisk,
) -> Iterator[PlanSource]:
    """Yield the plans that have one of ``boards`` as a board, or as a board of a board.

    ``boards`` are full paths without links (``os.path.realpath``). ``files_around`` returns the
    files that plans in a folder read their boards from. An unreadable plan has no boards.
    """
    for source in among:
        if not set(boards).isdisjoint(_boards_of(source, files_around)):
            yield source


def _boards_of(source: PlanSource, files_around: Callable[[str], Files]) -> list[str]:
    try:
        content = source.read()
    except UnusableFile:
        return []
    if not may_have_boards(content):
        return []
    folder = os.path.dirname(source.name)  # noqa: PTH120 - pathlib costs start-up
    return [
        os.path.realpath(os.path.join(folder, *path.split("/")))  # noqa: PTH118
        for path in board_files(content, files=files_around(folder))
    ]
