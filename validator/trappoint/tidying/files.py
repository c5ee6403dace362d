"""Writing a file anew, so that at no moment it is half written."""

from __future__ import annotations

import os
import tempfile

from trappoint.source.reading import UnusableFile


def replace_file(path: str, content: bytes) -> None:
    """Give a file this content, at once and whole; who may read and write it stays as it was.

    Where ``path`` is a link, the file that it leads to is written. Where there is none, it is
    made. Raises ``UnusableFile`` where it can not be written; then it is as it was before.
    """
    target = os.path.realpath(path)
    try:
        mode = _mode_of(target)
        handle, draft = tempfile.mkstemp(prefix=".trappoint-", dir=os.path.dirname(target))  # noqa: PTH120
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            os.chmod(draft, mode)  # noqa: PTH101 - pathlib costs start-up
            os.replace(draft, target)  # noqa: PTH105
        except BaseException:
            os.unlink(draft)  # noqa: PTH108
            raise
    except OSError as error:
        from trappoint.core.quoting import visible

        said = (error.strerror or "the system gives no reason").lower()
        raise UnusableFile(f"{visible(path)} cannot be written: {said}.") from None


def _mode_of(target: str) -> int:
    """Return who may use a file. Raises PermissionError where it is not to be written."""
    try:
        mode = os.stat(target).st_mode & 0o7777  # noqa: PTH116
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask
    # Renaming over a file asks for no leave of the file, only of its folder.
    if not os.access(target, os.W_OK):
        raise PermissionError(13, "permission was refused")
    return mode
