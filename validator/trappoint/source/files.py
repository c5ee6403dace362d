"""Where the plans of boards are read from: a disk, what git keeps, what an editor has not saved."""

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
"""Where a club's settings are: the first one found in the nearest folder."""


def is_plan(path: str) -> bool:
    """Return whether a file is a plan, by its name, in small letters or capitals."""
    return path.lower().endswith(PLAN_ENDING)


def without_ending(path: str) -> str:
    """Return the name of a plan without the ending of all plans."""
    return path[: -len(PLAN_ENDING)] if is_plan(path) else path


def is_store(path: str) -> bool:
    """Return whether a file is a store, by its name, in small letters or capitals."""
    return path.lower().endswith(STORE_ENDING)


def is_settings(path: str) -> bool:
    """Return whether a file may hold settings, by its name."""
    return path.replace(os.sep, "/").rpartition("/")[2] in SETTINGS_NAMES


def is_document(path: str) -> bool:
    """Return whether a file is a plan or a store, by its name."""
    return is_plan(path) or is_store(path)


def is_checked(path: str) -> bool:
    """Return whether there is something to check in a file, by its name."""
    return is_document(path) or is_settings(path)


class Files(Protocol):
    """The files around one plan."""

    def read(self, path: str) -> bytes:
        """Return a file, at most one byte more than a document may have.

        ``path`` is seen from the folder of the plan, normalised, with / between folders; it may
        begin with ``..``. Raises ``OutOfReach`` where it leaves what may be read (``within`` tells)
        and any other ``OSError`` where there is nothing to be read.
        """


def within(folder: str, path: str) -> str:
    """Return a path, seen from a folder, as it is seen from the top; / stands between folders.

    ``folder`` is the plan's, seen from the top, empty for the top itself. Raises ``OutOfReach``.
    """
    from posixpath import join, normpath

    found = normpath(join(folder, path))
    if found.startswith(("../", "/")) or found == "..":
        raise OutOfReach
    return found


class FilesOnDisk:
    """The files on the disk around a plan, as far as the top of its repository.

    Outside of a repository only the plan's own folder and those below it are looked into.
    """

    def __init__(self, folder: str) -> None:
        """``folder`` is the plan's; nothing is looked at before something is read."""
        self._folder = folder or "."
        self._top: str | None = None

    def read(self, path: str) -> bytes:
        """Return a file. Links are followed, but not to what lies outside."""
        from trappoint.source.reading import LIMIT_BYTES

        if self._top is None:
            self._top = repository_of(self._folder) or os.path.abspath(self._folder)  # noqa: PTH100
        place = os.path.relpath(os.path.abspath(self._folder), self._top)  # noqa: PTH100
        seen = within(place.replace(os.sep, "/"), path)
        return read_within(self._top, os.path.join(self._top, *seen.split("/")), LIMIT_BYTES + 1)  # noqa: PTH118


def files_beside(path: str) -> FilesOnDisk:
    """Return the files on the disk around the plan at a path."""
    return FilesOnDisk(os.path.dirname(path))  # noqa: PTH120 - pathlib costs start-up


class FilesAtHand:
    """Files that are at hand already, by their paths as seen from the folder of the plan.

    Paths that lead out of that folder are out of reach.
    """

    def __init__(self, contents: Mapping[str, str | bytes]) -> None:
        self._contents = contents

    def read(self, path: str) -> bytes:
        """Return a file."""
        found = self._contents.get(within("", path))
        if found is None:
            raise FileNotFoundError(path)
        return found.encode("utf-8", "surrogatepass") if isinstance(found, str) else found
