"""Write files. Every program of this project writes its files with ``write_file``.

It writes a draft beside the target and then renames it, so a file is never half written: a full
disk leaves the file as it was. It writes directly into a target that it cannot replace: a pipe,
a terminal, a device, or the file behind standard output or standard error (``/dev/stdout``).
"""

from __future__ import annotations

import os
import stat
import sys
from contextlib import suppress

from trappoint.core.errors import reason_of
from trappoint.source.reading import UnusableFile

DRAFT_PREFIX = ".trappoint-"
"""The prefix of the names of drafts."""


def write_file(path: str, content: bytes, *, called: str = "", mode: int | None = None) -> None:
    """Write the content to a file, completely or not at all.

    An existing file keeps its mode and, where the system allows it, its owner; ``mode`` sets
    another one. For a symbolic link, the file that it leads to is written. ``called`` names the
    file in messages (default: its path). Raises ``UnusableFile`` and leaves the file as it was.
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
        # A NUL or a lone surrogate in the name raises ValueError.
        why = reason_of(error) if isinstance(error, OSError) else "that is not the name of a file"
        raise UnusableFile(f"{called or _shown(path)} cannot be written: {why}.") from None


def _shown(path: str) -> str:
    from trappoint.core.quoting import visible

    return visible(path)


def _state_of(path: str) -> os.stat_result | None:
    """Return the status of a file, after following links; None if there is no file."""
    try:
        return os.stat(path)  # noqa: PTH116 - pathlib costs start-up
    except FileNotFoundError:
        return None


def _standard_stream(file: os.stat_result) -> int | None:
    """Return 1 or 2 if standard output or standard error goes to this file; else None.

    Replacing that file would lose the other output.
    """
    for number in (1, 2):
        with suppress(OSError):
            if os.path.samestat(file, os.fstat(number)):
                return number
    return None


def _replace(target: str, content: bytes, before: os.stat_result | None, mode: int | None) -> None:
    """Write a draft beside the target, then rename it to the target."""
    import tempfile

    # Renaming needs permission for the folder only; do not overwrite a read-only file.
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
    """Return the mode for a file: its mode from before, or the default for a new file."""
    if before is not None:
        return stat.S_IMODE(before.st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _send(handle: int, content: bytes) -> None:
    """Flush the standard streams, then write to a file descriptor and close it."""
    with os.fdopen(handle, "wb") as file:
        for stream in (sys.stdout, sys.stderr):
            if stream is not None:
                stream.flush()
        file.write(content)
        file.flush()
