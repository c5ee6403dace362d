"""Writing files: the one way in which every program of the house does it.

A file is written beside its target and then put in its place, so that at no moment it is half
written: a full disk leaves the file as it was. What cannot be put in place of is written into
directly: a pipe, a terminal, a device, and the file that standard output or standard error goes
to, which ``/dev/stdout`` names too.
"""

from __future__ import annotations

import os
import stat
import sys
from contextlib import suppress

from trappoint.core.errors import reason_of
from trappoint.source.reading import UnusableFile

DRAFT_PREFIX = ".trappoint-"
"""What the names of files begin with that are being written."""


def write_file(path: str, content: bytes, *, called: str = "", mode: int | None = None) -> None:
    """Give a file this content, whole or not at all.

    An existing file keeps its mode and, where the system allows it, its owner; ``mode`` sets
    another one. A symbolic link stays, and the file that it leads to is written. ``called`` names
    the file in messages (default: its path). Raises ``UnusableFile``; then the file is as it was.
    """
    try:
        before = _state_of(path)
        number = None if before is None else _standard_stream(before)
        if number is not None:
            _send(os.dup(number), content)
        elif before is None or stat.S_ISREG(before.st_mode):
            _replace(os.path.realpath(path), content, before, mode)
        elif stat.S_ISDIR(before.st_mode):
            raise IsADirectoryError(21, "it is a folder")
        else:
            _send(os.open(path, os.O_WRONLY | getattr(os, "O_BINARY", 0)), content)
    except (OSError, ValueError) as error:
        # A ValueError: a NUL or a lone surrogate in the name.
        why = reason_of(error) if isinstance(error, OSError) else "that is not the name of a file"
        raise UnusableFile(f"{called or _shown(path)} cannot be written: {why}.") from None


def _shown(path: str) -> str:
    from trappoint.core.quoting import visible

    return visible(path)


def _state_of(path: str) -> os.stat_result | None:
    """Return what is known of a file, links followed; None if there is none."""
    try:
        return os.stat(path)  # noqa: PTH116 - pathlib costs start-up
    except FileNotFoundError:
        return None


def _standard_stream(file: os.stat_result) -> int | None:
    """Return which standard stream goes to this file; None if neither does.

    Replacing that file would lose all else that goes there.
    """
    for number in (1, 2):
        with suppress(OSError):
            if os.path.samestat(file, os.fstat(number)):
                return number
    return None


def _replace(target: str, content: bytes, before: os.stat_result | None, mode: int | None) -> None:
    """Write a file beside its place, and put it there once it is whole."""
    import tempfile

    # Renaming over a file asks for no leave of the file, only of its folder.
    if before is not None and not os.access(target, os.W_OK):
        raise PermissionError(13, "permission was refused")
    handle, draft = tempfile.mkstemp(prefix=DRAFT_PREFIX, dir=os.path.dirname(target))  # noqa: PTH120
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if before is not None and sys.platform != "win32":
            with suppress(OSError):
                os.chown(draft, before.st_uid, before.st_gid)
        os.chmod(draft, _mode_after(before) if mode is None else mode)  # noqa: PTH101
        os.replace(draft, target)  # noqa: PTH105
    except BaseException:
        with suppress(OSError):
            os.unlink(draft)  # noqa: PTH108
        raise


def _mode_after(before: os.stat_result | None) -> int:
    """Return who may use a file: the same as before, or what is usual for a new one."""
    if before is not None:
        return stat.S_IMODE(before.st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _send(handle: int, content: bytes) -> None:
    """Write into what cannot be replaced, after what was printed before; closes the handle."""
    with os.fdopen(handle, "wb") as file:
        for stream in (sys.stdout, sys.stderr):
            if stream is not None:
                stream.flush()
        file.write(content)
        file.flush()
