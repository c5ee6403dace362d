"""Saving a text of a page into the folder: nothing that another program wrote is lost.

If the file is no longer what the page was opened with, the two are merged, and the merged text is
saved. If they conflict, nothing is written, and the page gets all versions.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trappoint.app.folder_records import FolderFile, MergedFile
from trappoint.app.open_folder import (
    ChangedMeanwhile,
    FileInTheWay,
    NoSuchFile,
    stamp_of,
)
from trappoint_service.config import LIMIT_BYTES
from trappoint_service.jobs import MergeFile
from trappoint_service.problems import Problem
from trappoint_service.queues import JobFault, JobLost, JobTooLong, TooMuch

if TYPE_CHECKING:
    from trappoint.app.open_folder import OpenFolder
    from trappoint_service.pool import Pool

TRIES = 5
"""How many times a file may change while it is being saved."""

KEPT_BYTES = 64 * 1024 * 1024
"""Bytes of opened texts that are kept, to merge with."""


@dataclass(frozen=True, slots=True)
class Saved:
    """The file as it is now."""

    content: bytes
    merged: bool
    said: tuple[str, ...] = ()
    """Sentences on the changes of the file that came in."""


@dataclass(frozen=True, slots=True)
class Conflict:
    """Why nothing was written."""

    theirs: bytes | None
    """The file as it is now; None if it is not there."""
    merged: bytes | None
    """Both versions in one text, with marks at the conflicts; None if there is no such text."""
    conflicts: tuple[str, ...]


class Saving:
    """Saves texts into a folder, and remembers with which text each page was opened."""

    def __init__(self, folder: OpenFolder, pool: Pool) -> None:
        self._folder = folder
        self._pool = pool
        self._lock = threading.Lock()
        self._opened: OrderedDict[str, bytes] = OrderedDict()
        self._bytes = 0

    def open(self, name: str) -> bytes:
        """Return a file for a page. Raises what ``OpenFolder.read`` does."""
        content = self._folder.read(name)
        self._remember(content)
        return content

    def save_new(self, name: str, content: bytes) -> Saved | Conflict:
        """Make a file. Raises what ``OpenFolder.save`` does, or Problem."""
        refuse_long(name, content)
        try:
            self._folder.save(name, content, None)
        except FileInTheWay as error:
            return Conflict(self._theirs(name), None, (str(error),))
        self._remember(content)
        return Saved(content, merged=False)

    def save(self, name: str, ours: bytes, base: bytes | None, stamp: str) -> Saved | Conflict:
        """Save a text.

        ``base`` is the text with which its page was opened, ``stamp`` the stamp of that text.
        Raises what ``OpenFolder.save`` does, or Problem.
        """
        refuse_long(name, ours)
        if base is None:
            with self._lock:
                base = self._opened.get(stamp)
        for _ in range(TRIES):
            try:
                theirs = self._folder.read(name)
                done = self._joined(name, ours, base, stamp, theirs)
                if isinstance(done, Saved):
                    if done.content != theirs:
                        self._folder.save(name, done.content, theirs)
                    self._remember(done.content)
                return done
            except ChangedMeanwhile:
                continue
            except NoSuchFile:
                return Conflict(None, None, (_gone(name),))
        raise Problem(
            503,
            "changes-all-the-time",
            f"{name} changes all the time, so nothing was written. Your text is still on the page.",
            headers={"Retry-After": "2"},
        )

    def _joined(
        self, name: str, ours: bytes, base: bytes | None, stamp: str, theirs: bytes
    ) -> Saved | Conflict:
        """Return what the file will be."""
        if theirs in (ours, base) or stamp_of(theirs) == stamp:
            return Saved(ours, merged=False)
        if base is None:
            self._remember(theirs)
            why = "The file has changed, and nothing is known of the text that the page began with."
            return Conflict(theirs, None, (why,))
        if len(theirs) > LIMIT_BYTES:
            return Conflict(None, None, (f"{name} is now longer than 8 MiB.",))
        try:
            found = self._pool.run(
                MergeFile(FolderFile(self._folder.top, name, theirs), base, ours)
            )
        except (JobTooLong, TooMuch, JobLost, JobFault):
            found = MergedFile(b"", ("The file has changed, and the two texts cannot be merged.",))
        if found.conflicts:
            self._remember(theirs)
            return Conflict(theirs, found.content or None, found.conflicts)
        return Saved(found.content, merged=True, said=found.said)

    def _theirs(self, name: str) -> bytes | None:
        try:
            return self.open(name)
        except NoSuchFile:
            return None

    def _remember(self, content: bytes) -> None:
        with self._lock:
            stamp = stamp_of(content)
            self._bytes += len(content) if stamp not in self._opened else 0
            self._opened[stamp] = content
            self._opened.move_to_end(stamp)
            while self._bytes > KEPT_BYTES and len(self._opened) > 1:
                _, dropped = self._opened.popitem(last=False)
                self._bytes -= len(dropped)


def refuse_long(name: str, content: bytes) -> None:
    """Raise Problem for a text above the limit of a plan."""
    if len(content) > LIMIT_BYTES:
        raise Problem(
            413,
            "too-long",
            f"{name} may have at most 8 MiB ({LIMIT_BYTES:,} bytes); this text has "
            f"{len(content):,}. Nothing was written.",
        )


def _gone(name: str) -> str:
    return f"{name} is no longer in the folder: it was removed or has another name now."
