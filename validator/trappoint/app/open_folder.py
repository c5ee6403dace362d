"""The plans and stores of one folder on this computer: listed, read and saved.

Nothing outside of the folder is read or written. A name is first tested as text. Then the file is
opened step by step from the folder, which stays open, so that a link that somebody puts in the way
meanwhile leads nowhere. (On a system without ``dir_fd`` such a swap is not noticed.)
"""

from __future__ import annotations

import errno
import os
import os.path
import secrets
import stat
import threading
import unicodedata
from contextlib import contextmanager, suppress
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.errors import CannotUse, reason_of
from trappoint.core.quoting import quoted
from trappoint.source.files import PLAN_ENDING, STORE_ENDING, is_document, is_plan, is_store
from trappoint.source.opening import OutOfReach, open_folder, read_in, read_within
from trappoint.source.reading import LIMIT_BYTES
from trappoint.source.writing import write_within

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_FILES = 2000
"""The number of plans and stores that are listed."""

MOST_NAMES = 100_000
"""The number of files and folders that are looked at for the list."""

LONGEST_NAME = 1000
"""Letters of the longest name that is accepted."""

ENDINGS = {"plan": PLAN_ENDING, "store": STORE_ENDING}
"""The endings of the names of plans and stores."""

FULL = (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC))

_DEVICES = {"con", "prn", "aux", "nul"}
_DEVICES |= {f"{port}{number}" for port in ("com", "lpt") for number in range(1, 10)}
"""Names that belong to devices on some systems, with any ending."""

_BY_STEPS = os.open in os.supports_dir_fd


class FolderTrouble(Exception):  # noqa: N818 - it describes the file
    """Raised if a file cannot be read or written. The message says why."""

    status = 400
    kind = "name-refused"


class NameRefused(FolderTrouble):
    """Raised for a name that is not that of a plan or store in the folder."""


class NoSuchFile(FolderTrouble):
    """Raised if there is no such file."""

    status, kind = 404, "not-found"


class FileInTheWay(FolderTrouble):
    """Raised if a new file has a name that another file has. The message names it."""

    status, kind = 409, "file-in-the-way"


class ChangedMeanwhile(FolderTrouble):
    """Raised if the file is no longer as it was read."""

    status, kind = 503, "changes-all-the-time"


class NotRead(FolderTrouble):
    """Raised if a file is there and cannot be read."""

    status, kind = 403, "not-readable"


class NotWritten(FolderTrouble):
    """Raised if a file cannot be written. The file is as it was."""

    status, kind = 403, "not-written"


class DiskFull(NotWritten):
    """Raised if there is no room for the file."""

    status = 507


class FileEntry(NamedTuple):
    """A plan or a store in the folder."""

    name: str
    """From the folder, with / between folders."""
    seconds: float
    """When it last changed, in seconds since 1970 (UTC)."""
    bytes: int
    mark: tuple[int, int, int]
    """Differs after a change, if the clock of the disk is fine enough."""


class FolderListing(NamedTuple):
    """The plans and stores of a folder."""

    files: tuple[FileEntry, ...]
    """Sorted by name."""
    cut: bool
    """Whether there are more than can be listed."""


def kind_of(name: str) -> str:
    """Return ``plan`` or ``store``, judged by the name of a file in the folder."""
    return "store" if is_store(name) else "plan"


def stamp_of(content: bytes) -> str:
    """Return a stamp of a text: two texts with one stamp are the same."""
    return sha256(content).hexdigest()


class OpenFolder:
    """A folder whose plans and stores are listed, read and saved. It may be used by threads."""

    def __init__(self, path: str, secret: str | None = None) -> None:
        """Open the folder. Raises ``CannotUse``.

        ``secret`` is the word in the address of its pages (default: a new one).
        """
        self.secret = secret or secrets.token_urlsafe(24)
        self._lock = threading.Lock()
        self._handle: int | None = None
        try:
            self.top = os.path.realpath(path)
            self.name = Path(self.top).name or self.top
            if not Path(self.top).is_dir():
                raise NotADirectoryError(errno.ENOTDIR, "it is no folder")
            if _BY_STEPS:
                self._handle = os.open(self.top, os.O_RDONLY | os.O_DIRECTORY)
            next(Path(self.top).iterdir(), None)
        except (OSError, ValueError) as error:
            why = reason_of(error) if isinstance(error, OSError) else "that is no name of a folder"
            raise CannotUse(f"{path} cannot be used as a folder: {why}.") from None

    def close(self) -> None:
        """Close the folder. It can no longer be used."""
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None

    # --- listing

    def listing(self) -> FolderListing:
        """Return the plans and stores, without those in folders that begin with a full stop."""
        found: list[FileEntry] = []
        for number, name in enumerate(self._names()):
            if number >= MOST_NAMES or len(found) >= MOST_FILES:
                return FolderListing(tuple(sorted(found)), cut=True)
            entry = self._entry(name) if is_document(name) else None
            if entry is not None:
                found.append(entry)
        return FolderListing(tuple(sorted(found)), cut=False)

    def _names(self) -> Iterator[str]:
        """Yield the names of all files, and an empty name for each folder."""
        for here, folders, files in os.walk(self.top):
            folders[:] = sorted(name for name in folders if not name.startswith("."))
            below = os.path.relpath(here, self.top)
            yield ""
            for name in files:
                yield name if below == "." else f"{below.replace(os.sep, '/')}/{name}"

    def _entry(self, name: str) -> FileEntry | None:
        """Return a file; None if it cannot be opened here."""
        try:
            _parts(name)
            found = os.lstat(f"{self.top}/{name}")
            if stat.S_ISLNK(found.st_mode):
                with self._place(name) as (folder, last):
                    found = os.stat(last, dir_fd=folder, follow_symlinks=False)
        except (OSError, NameRefused, NoSuchFile):
            return None
        if not stat.S_ISREG(found.st_mode):
            return None
        mark = (found.st_mtime_ns, found.st_size, found.st_ino)
        return FileEntry(name, found.st_mtime, found.st_size, mark)

    # --- reading

    def read(self, name: str) -> bytes:
        """Return the bytes of a plan or store, at most one more than a plan may have.

        Raises ``NameRefused``, ``NoSuchFile`` or ``NotRead``.
        """
        try:
            with self._place(name) as (folder, last):
                if folder is None:
                    return read_within(self.top, last, LIMIT_BYTES + 1)
                return read_in(folder, last, LIMIT_BYTES + 1)
        except (FileNotFoundError, NotADirectoryError):
            raise NoSuchFile(f"There is no file {name} in this folder.") from None
        except OutOfReach:
            raise NameRefused(f"{name} leads out of the folder.") from None
        except OSError as error:
            raise NotRead(f"{name} cannot be read: {reason_of(error)}.") from None

    # --- saving

    def save(self, name: str, content: bytes, before: bytes | None) -> None:
        """Write a plan or store, completely or not at all.

        ``before`` is what the file has now, None for a new file. Raises ``NameRefused``,
        ``NoSuchFile``, ``FileInTheWay``, ``ChangedMeanwhile`` or ``NotWritten``; then the file is
        as it was.
        """

        def still() -> None:
            if before is not None and self.read(name) != before:
                raise ChangedMeanwhile

        try:
            with self._alone():
                if before is None:
                    self._refuse_double(_parts(name))
                with self._place(name) as (folder, last):
                    write_within(folder, last, content, still, new=before is None)
        except FileExistsError:
            raise FileInTheWay(f"There is a file {name} already.") from None
        except FileNotFoundError:
            what = f"folder for {name}" if before is None else f"file {name}"
            raise NoSuchFile(f"There is no {what}.") from None
        except OSError as error:
            kind = DiskFull if error.errno in FULL else NotWritten
            said = f"{name} cannot be written: {reason_of(error)}. Your text is still on the page."
            raise kind(said) from None

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Keep out other threads, and other services of this program that have the folder open."""
        with self._lock:
            if self._handle is None:
                yield
                return
            import fcntl

            with suppress(OSError):  # a disk without locks
                fcntl.flock(self._handle, fcntl.LOCK_EX)
            try:
                yield
            finally:
                with suppress(OSError):
                    fcntl.flock(self._handle, fcntl.LOCK_UN)

    def _refuse_double(self, parts: list[str]) -> None:
        """Refuse a new name that some computers take for another one."""
        here = ""
        for part in parts:
            if part.partition(".")[0].strip().lower() in _DEVICES:
                raise NameRefused(f"{quoted(part)} names a device on some computers.")
            for there in self._names_in(here):
                if there != part and _folded(there) == _folded(part):
                    raise FileInTheWay(
                        f"There is {here}{there} already. Some disks cannot tell it from "
                        f"{here}{part}: choose another name."
                    )
            here += f"{part}/"

    def _names_in(self, folder: str) -> list[str]:
        try:
            return [each.name for each in Path(self.top, folder).iterdir()]
        except OSError:  # then nothing can be written there either
            return []

    # --- names

    @contextmanager
    def _place(self, name: str) -> Iterator[tuple[int | None, str]]:
        """Open the folder of a file; yield its file descriptor, and the name in it.

        On a system without ``dir_fd`` it yields None, and the path. A link may lead to another
        plan or store within the folder. Raises ``NameRefused`` or ``OSError``.
        """
        parts = _parts(name)
        place = os.path.realpath(Path(self.top, *parts))
        if os.path.commonpath((self.top, place)) != self.top:
            raise NameRefused(f"{name} leads out of the folder.")
        path = os.path.relpath(place, self.top)
        behind = path.replace(os.sep, "/")
        if behind != name and is_plan("/".join(_parts(behind))) != is_plan(name):
            raise NameRefused(f"{name} leads to a file of another kind.")
        if self._handle is None:
            yield None, place
            return
        folder, last = os.path.split(path)
        handle = open_folder(self._handle, folder)
        try:
            yield handle, last
        finally:
            os.close(handle)


def _parts(name: str) -> list[str]:
    """Return the parts of a name. Raises ``NameRefused`` if it is not one of a plan or store."""
    if not name or len(name) > LONGEST_NAME or not name.isprintable() or "\ufffd" in name:
        raise NameRefused("A name has 1 to 1,000 letters, and nothing invisible.")
    shown = quoted(name)
    if "\\" in name or ":" in name or name.startswith("/"):
        raise NameRefused(
            f"{shown} is no name from this folder: write / between folders, none at the start, "
            "and neither \\ nor a colon."
        )
    parts = name.split("/")
    if any(part.startswith(".") or part.endswith((".", " ")) or not part for part in parts):
        raise NameRefused(
            f"{shown} is no name from this folder: no part may be empty, begin with a full stop, "
            "or end with a full stop or a space."
        )
    if not is_document(name):
        raise NameRefused(
            f"{shown} is neither a plan nor a store: the name must end with {PLAN_ENDING} or "
            f"{STORE_ENDING}."
        )
    return parts


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())
