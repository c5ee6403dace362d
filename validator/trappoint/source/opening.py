"""Open untrusted files safely: only plain files, and only within one folder.

A name in a repository may be a link to a file elsewhere, or a pipe that never ends.
"""

from __future__ import annotations

import errno
import os
import os.path
import stat

_SPECIAL = {
    stat.S_IFIFO: "it is a pipe",
    stat.S_IFSOCK: "it is a socket",
    stat.S_IFCHR: "it is a device",
    stat.S_IFBLK: "it is a device",
}
_BEYOND_LINKS = getattr(os, "O_NOFOLLOW", 0)
_AT_ONCE = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0) | getattr(os, "O_BINARY", 0)


class OutOfReach(OSError):  # noqa: N818 - the name describes the path
    """A path that leads out of the folder in which files may be read."""


def repository_of(folder: str) -> str | None:
    """Return the top folder of the repository around a folder; None if there is none."""
    here = os.path.abspath(folder)  # noqa: PTH100
    while not os.path.exists(os.path.join(here, ".git")):  # noqa: PTH110, PTH118
        above = os.path.dirname(here)  # noqa: PTH120
        if above == here:
            return None
        here = above
    return here


def read_within(top: str, path: str, most: int) -> bytes:
    """Return the bytes of a plain file in a folder or below it, at most ``most``.

    Links may lead to other places in the folder. Raises ``OutOfReach`` if the path leads out of
    it, and any other ``OSError`` if the file cannot be read. A pipe, a socket or a device counts
    as a file that cannot be read; it is not opened.
    """
    top = os.path.realpath(top)
    place = os.path.realpath(path)
    if os.path.commonpath((top, place)) != top:
        raise OutOfReach
    _refuse_special(os.stat(place))  # noqa: PTH116 - pathlib costs start-up
    return _content_of(_open_within(top, place), most)


def _open_within(top: str, place: str) -> int:
    """Open a file by its path without links; return its file descriptor.

    Opening fails if someone puts a link into the path meanwhile. On a system without ``dir_fd``,
    this protects only the last part of the path.
    """
    if os.open not in os.supports_dir_fd:
        return os.open(place, os.O_RDONLY | _BEYOND_LINKS | _AT_ONCE)
    folder, name = os.path.split(os.path.relpath(place, top))
    here = open_folder(top, folder)
    try:
        return os.open(name, os.O_RDONLY | _BEYOND_LINKS | _AT_ONCE, dir_fd=here)
    finally:
        os.close(here)


def read_in(folder: int, name: str, most: int) -> bytes:
    """Return the bytes of a plain file in an open folder, at most ``most``.

    ``folder`` is the file descriptor of the folder, ``name`` a name in it. Raises ``OSError`` for a
    link, a pipe, a socket or a device, too; it opens none of them.
    """
    found = os.stat(name, dir_fd=folder, follow_symlinks=False)
    if stat.S_ISLNK(found.st_mode):
        raise OutOfReach(errno.ELOOP, "it is a link")
    _refuse_special(found)
    handle = os.open(name, os.O_RDONLY | _BEYOND_LINKS | _AT_ONCE, dir_fd=folder)
    return _content_of(handle, most)


def _content_of(handle: int, most: int) -> bytes:
    with open(handle, "rb") as file:
        _refuse_special(os.fstat(file.fileno()))
        return file.read(most)


def open_folder(top: str | int, path: str) -> int:
    """Open a folder within ``top`` step by step, through no link; return its file descriptor.

    ``top`` is a path or the file descriptor of an open folder; ``path`` is relative to it, and
    empty for ``top`` itself. Raises ``OSError``. The system must have ``dir_fd``.
    """
    words = os.O_RDONLY | os.O_DIRECTORY
    here = os.dup(top) if isinstance(top, int) else os.open(top, words)
    try:
        for folder in path.split(os.sep) if path else ():  # noqa: PTH206 - costs start-up
            below = os.open(folder, words | _BEYOND_LINKS, dir_fd=here)
            os.close(here)
            here = below
    except BaseException:
        os.close(here)
        raise
    return here


def _refuse_special(file: os.stat_result) -> None:
    if stat.S_ISDIR(file.st_mode):
        raise IsADirectoryError(21, "it is a folder")
    if not stat.S_ISREG(file.st_mode):
        what = _SPECIAL.get(stat.S_IFMT(file.st_mode), "it is no plain file")
        raise OSError(22, what)
