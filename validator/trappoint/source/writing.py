"""Write files. Every program of this project writes its files with ``write_file``.

It writes a draft beside the target and then renames it, so a file is never half written: a full
disk leaves the file as it was. It writes directly into a target that it cannot replace: a pipe,
a terminal, a device, or the file behind standard output or standard error (``/dev/stdout``).
"""

from __future__ import annotations

import errno
import os
import stat
import sys
from contextlib import suppress
from typing import TYPE_CHECKING

from trappoint.core.errors import reason_of
from trappoint.source.reading import UnusableFile

if TYPE_CHECKING:
    from collections.abc import Callable

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


def write_within(
    folder: int | None, name: str, content: bytes, still: Callable[[], None], *, new: bool = False
) -> None:
    """Write a plain file in an open folder, completely or not at all.

    ``folder`` is the file descriptor of the folder, so that no link can lead elsewhere. On a system
    without ``dir_fd`` it is None, and ``name`` is a path. ``still`` is called right before the
    draft takes the place of the file; what it raises leaves the file as it was. An existing file
    keeps its mode and, where the system allows it, its owner. With ``new`` the file must not exist.
    Raises ``OSError``.
    """
    if new:
        _replace(name, content, None, None, folder, still, new=True)
        return
    before = os.stat(name, dir_fd=folder, follow_symlinks=False)
    if not stat.S_ISREG(before.st_mode):
        raise OSError(errno.EINVAL, "it is no plain file")
    _replace(name, content, before, None, folder, still)


def _replace(
    target: str,
    content: bytes,
    before: os.stat_result | None,
    mode: int | None,
    folder: int | None = None,
    still: Callable[[], None] | None = None,
    *,
    new: bool = False,
) -> None:
    """Write a draft beside the target, then rename it to the target.

    With ``folder``, the file descriptor of its folder, the target is a name in that folder.
    """
    # Renaming needs permission for the folder only; do not overwrite a read-only file.
    if before is not None and not os.access(target, os.W_OK, dir_fd=folder):
        raise PermissionError(13, "permission was refused")
    draft, handle = _make_draft(target, folder)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if before is not None and sys.platform != "win32":
            with suppress(OSError):
                os.chown(draft, before.st_uid, before.st_gid, dir_fd=folder)
        os.chmod(draft, _mode_after(before) if mode is None else mode, dir_fd=folder)
        if still is not None:
            still()
        if new:
            _give_name(draft, target, folder)
        else:
            os.replace(draft, target, src_dir_fd=folder, dst_dir_fd=folder)
    except BaseException:
        with suppress(OSError):
            os.unlink(draft, dir_fd=folder)
        raise


def _make_draft(target: str, folder: int | None) -> tuple[str, int]:
    """Make an empty file beside the target; return its name and its file descriptor."""
    from secrets import token_hex

    beside = os.path.dirname(target)  # noqa: PTH120
    words = os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    while True:
        draft = os.path.join(beside, f"{DRAFT_PREFIX}{token_hex(8)}")  # noqa: PTH118
        with suppress(FileExistsError):
            return draft, os.open(draft, words | getattr(os, "O_NOFOLLOW", 0), 0o600, dir_fd=folder)


def _give_name(draft: str, target: str, folder: int | None) -> None:
    """Rename a draft to a name that no file has. Raises ``FileExistsError`` if one has it."""
    try:
        os.link(draft, target, src_dir_fd=folder, dst_dir_fd=folder)
    except FileExistsError:
        raise
    except OSError:  # a disk without hard links: take the name first
        os.close(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600, dir_fd=folder))
        os.replace(draft, target, src_dir_fd=folder, dst_dir_fd=folder)
    else:
        os.unlink(draft, dir_fd=folder)


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
