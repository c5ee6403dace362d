"""The folder of a site: what may be written there, and what is removed.

A file in the folder lists the files of the site. Only those are ever overwritten or removed.
"""

from __future__ import annotations

import json
import os
import os.path
import stat
from contextlib import suppress
from typing import TYPE_CHECKING

from trappoint.app.site_building import MARKER
from trappoint.core.errors import CannotUse, reason_of
from trappoint.core.quoting import visible
from trappoint.source.writing import write_file

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

FORMAT = "trappoint-site/1"


class SiteFolder:
    """A folder that holds one site and nothing else that this program touches."""

    def __init__(self, folder: str) -> None:
        """Look at the folder, and change nothing.

        Raises ``CannotUse`` if it is not empty and holds no site.
        """
        self._folder = folder
        self._top = os.path.realpath(folder)
        self._before = self._listed()
        """The files of the site that was written before, relative to the folder."""
        self._written: set[str] = set()

    def begin(self, possible: Collection[str]) -> None:
        """List the files that may be written, so that a run that is stopped leaves no strangers.

        Raises ``CannotUse`` and writes nothing if another file is in the way of one of them.
        """
        for path in possible:
            self._refuse_stranger(path)
        self._make_folder("")
        self._write_marker({*self._before, *possible})

    def write(self, folder: str, files: Mapping[str, bytes]) -> None:
        """Write files into a folder of the site. Raises ``CannotUse`` if that fails."""
        self._make_folder(folder)
        for name, content in files.items():
            path = f"{folder}/{name}" if folder else name
            self._written.add(path)
            place = self._place(path)
            if _content_of(place, len(content)) != content:
                write_file(place, content)

    def finish(self) -> int:
        """Remove the files of the site before that were not written again; return their number."""
        stale = sorted(path for path in self._before - self._written if self._remove(path))
        self._write_marker(self._written)
        return len(stale)

    def _place(self, path: str) -> str:
        return os.path.join(self._folder, *path.split("/"))  # noqa: PTH118

    # --- what is there

    def _listed(self) -> set[str]:
        try:
            there = os.listdir(self._folder)  # noqa: PTH208
        except FileNotFoundError:
            return set()
        except OSError as error:
            why = f"{visible(self._folder)} cannot be used as a folder: {reason_of(error)}."
            raise CannotUse(why) from None
        if MARKER in there:
            return set(_read_marker(self._place(MARKER)))
        if there:
            raise CannotUse(
                f"{visible(self._folder)} is not empty and holds no site of this program. Name an "
                "empty or a new folder."
            )
        return set()

    def _refuse_stranger(self, path: str) -> None:
        """Raise ``CannotUse`` if something that is not of the site is in the way of a file."""
        parts = path.split("/")
        for depth in range(1, len(parts) + 1):
            here = "/".join(parts[:depth])
            try:
                mode = os.lstat(self._place(here)).st_mode
            except OSError:
                return
            last = depth == len(parts)
            ours = stat.S_ISREG(mode) and here in self._before if last else stat.S_ISDIR(mode)
            if not ours:
                raise CannotUse(
                    f"{visible(self._place(here))} is in the way, and is not a part of the site. "
                    "Move it, or name another folder."
                )

    # --- changes

    def _make_folder(self, folder: str) -> None:
        place = self._place(folder) if folder else self._folder
        try:
            os.makedirs(place, exist_ok=True)  # noqa: PTH103
        except (OSError, ValueError) as error:
            why = reason_of(error) if isinstance(error, OSError) else "its name cannot be used"
            raise CannotUse(f"The folder {visible(place)} cannot be made: {why}.") from None

    def _remove(self, path: str) -> bool:
        """Remove a file of the site and the folders that are empty then; return whether it was
        there."""
        folder, name = os.path.split(self._place(path))
        if os.path.realpath(folder) != os.path.join(self._top, *path.split("/")[:-1]):  # noqa: PTH118
            return False  # a link leads elsewhere
        try:
            os.unlink(os.path.join(folder, name))  # noqa: PTH108, PTH118
        except OSError:
            return False
        with suppress(OSError):
            while os.path.realpath(folder) != self._top:
                os.rmdir(folder)  # noqa: PTH106
                folder = os.path.dirname(folder)  # noqa: PTH120
        return True

    def _write_marker(self, files: Iterable[str]) -> None:
        data = {"format": FORMAT, "files": sorted(files)}
        write_file(self._place(MARKER), f"{json.dumps(data, indent=1)}\n".encode("ascii"))


def _read_marker(place: str) -> list[str]:
    """Return the files that a marker lists. Raises ``CannotUse`` if it is not as it was written."""
    try:
        with open(place, encoding="ascii") as file:  # noqa: PTH123
            data = json.load(file)
        files = data["files"] if data["format"] == FORMAT else None
        if isinstance(files, list) and all(map(_is_inside, files)):
            return files
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        pass
    raise CannotUse(
        f"{visible(place)} is not as this program writes it, so nothing is removed or overwritten "
        "there. Name an empty or a new folder."
    )


def _is_inside(path: object) -> bool:
    """Return whether a path is plain and leads to a place below the folder of the site."""
    if not isinstance(path, str) or "\\" in path or ":" in path.partition("/")[0][1:2]:
        return False
    return all(part not in ("", ".", "..") for part in path.split("/"))


def _content_of(place: str, most: int) -> bytes | None:
    """Return the content of a file that is there already; None if it has another length."""
    try:
        with open(place, "rb") as file:  # noqa: PTH123
            return file.read(most + 1)
    except (OSError, ValueError):
        return None
