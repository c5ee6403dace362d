"""File names and file sources: where the plans of boards are read from.

This module has the sources on disk and in memory; other modules add git and unsaved files.
"""

from __future__ import annotations

import os
import os.path
from typing import TYPE_CHECKING, Protocol

from trappoint.source.opening import OutOfReach, read_within, repository_of

if TYPE_CHECKING:
    from collections.abc import Mapping

PLAN_ENDING = ".layout.json"
STORE_ENDING = ".store.json"
SETTINGS_NAMES = ("trappoint.toml", "pyproject.toml")
"""The names of settings files. The first one found in the nearest folder is used."""


def is_plan(path: str) -> bool:
    """Return whether a file is a plan, judged by its name. Capital letters make no difference."""
    return path.lower().endswith(PLAN_ENDING)


def without_ending(path: str) -> str:
    """Return the name of a plan without ``.layout.json``; other names are returned unchanged."""
    return path[: -len(PLAN_ENDING)] if is_plan(path) else path


def is_store(path: str) -> bool:
    """Return whether a file is a store, judged by its name. Capital letters make no difference."""
    return path.lower().endswith(STORE_ENDING)


def is_settings(path: str) -> bool:
    """Return whether a file may contain settings, judged by its name."""
    return path.replace(os.sep, "/").rpartition("/")[2] in SETTINGS_NAMES


def is_document(path: str) -> bool:
    """Return whether a file is a plan or a store, judged by its name."""
    return is_plan(path) or is_store(path)


def is_checked(path: str) -> bool:
    """Return whether the check reads a file (plan, store or settings), judged by its name."""
    return is_document(path) or is_settings(path)


class Files(Protocol):
    """The files around one plan."""

    def read(self, path: str) -> bytes:
        """Return the bytes of a file, at most ``LIMIT_BYTES`` plus one.

        ``path`` is relative to the folder of the plan, normalised, with / between folders; it may
        begin with ``..``. Raises ``OutOfReach`` if the path leads out of the permitted folder
        (see ``within``), and any other ``OSError`` if the file cannot be read.
        """


def within(folder: str, path: str) -> str:
    """Return a path relative to the top folder, with / between folders.

    ``path`` is relative to ``folder``, the folder of the plan. ``folder`` is relative to the top,
    and empty for the top itself. Raises ``OutOfReach`` if the path leads out of the top.
    """
    from posixpath import join, normpath

    found = normpath(join(folder, path))
    if found.startswith(("../", "/")) or found == "..":
        raise OutOfReach
    return found


class FilesOnDisk:
    """The files on disk around a plan, within its repository.

    Outside a repository, only files in the plan's folder and below it can be read.
    """

    def __init__(self, folder: str) -> None:
        """Take the folder of the plan. The disk is not accessed before the first read."""
        self._folder = folder or "."
        self._top: str | None = None

    def read(self, path: str) -> bytes:
        """Return the bytes of a file. A path or link that leads out raises ``OutOfReach``."""
        from trappoint.source.reading import LIMIT_BYTES

        if self._top is None:
            self._top = repository_of(self._folder) or os.path.abspath(self._folder)  # noqa: PTH100
        place = os.path.relpath(os.path.abspath(self._folder), self._top)  # noqa: PTH100
        seen = within(place.replace(os.sep, "/"), path)
        return read_within(self._top, os.path.join(self._top, *seen.split("/")), LIMIT_BYTES + 1)  # noqa: PTH118


def files_beside(path: str) -> FilesOnDisk:
    """Return the files on disk around the plan at ``path``."""
    return FilesOnDisk(os.path.dirname(path))  # noqa: PTH120 - pathlib costs start-up


class FilesAtHand:
    """Files in memory, keyed by their paths relative to the folder of the plan.

    Paths that lead out of that folder raise ``OutOfReach``.
    """

    def __init__(self, contents: Mapping[str, str | bytes]) -> None:
        self._contents = contents

    def read(self, path: str) -> bytes:
        """Return the bytes of a file; text is encoded in UTF-8."""
        found = self._contents.get(within("", path))
        if found is None:
            raise FileNotFoundError(path)
        return found.encode("utf-8", "surrogatepass") if isinstance(found, str) else found
