"""The verdicts on the files of a folder, found one after another and kept by content.

The list of the files never waits for a verdict: it has those that are known, and the others are
found meanwhile.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from hashlib import sha1, sha256
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.folder_git import list_committed
from trappoint.app.folder_records import FileVerdict, FolderFile
from trappoint.app.open_folder import NameRefused, NoSuchFile, NotRead, kind_of, stamp_of
from trappoint.checking.check import may_have_boards
from trappoint.config.settings_file import SettingsError, find_settings
from trappoint_service.jobs import JudgeFile
from trappoint_service.queues import (
    Busy,
    JobFault,
    JobLost,
    JobTooLong,
    TooMuch,
)

if TYPE_CHECKING:
    from trappoint.app.open_folder import FileEntry, OpenFolder
    from trappoint_service.pool import Pool

KEPT = 10_000
"""The number of verdicts that are kept."""

FRESH_SECONDS = 2
"""Seconds for which a changed file is read again: clocks of disks are coarse."""

PATIENCE_SECONDS = 1
"""Seconds to wait while the service is busy."""

_WHY_NOT = {
    JobTooLong: "cannot be judged: it needs more time than the page allows.",
    TooMuch: "cannot be judged: it needs more memory than the page allows.",
    JobLost: "cannot be judged: its process was killed, perhaps for lack of memory.",
    JobFault: "cannot be judged: internal error. Please report it.",
}


class KnownFile(NamedTuple):
    """A file of the list, and what is known of it."""

    entry: FileEntry
    verdict: FileVerdict | None
    """None if it is not found yet."""
    commit: str | None
    """``same`` as in the last commit, ``changed``, ``new``; None outside of git."""


class _Text(NamedTuple):
    mark: tuple[int, int, int]
    stamp: str
    objects: tuple[str, ...]
    """The names that git has for it: with SHA-1 or SHA-256, its lines as they are or with LF."""
    boards: bool
    """Whether it may have boards."""


class _Question(NamedTuple):
    name: str
    key: str


class FolderVerdicts:
    """The verdicts on the files of a folder. It may be used by threads."""

    def __init__(self, folder: OpenFolder, pool: Pool) -> None:
        self._folder = folder
        self._pool = pool
        self._lock = threading.Lock()
        self._texts: dict[str, _Text] = {}
        self._known: OrderedDict[str, FileVerdict] = OrderedDict()
        self._open: OrderedDict[_Question, None] = OrderedDict()
        self._at_work = False

    def look(self, entries: tuple[FileEntry, ...]) -> list[KnownFile]:
        """Return what is known of files, and begin to find the rest."""
        texts = {entry.name: text for entry in entries if (text := self._text(entry)) is not None}
        committed = list_committed(self._folder.top)
        plans = sorted((n, text.stamp) for n, text in texts.items() if kind_of(n) == "plan")
        together = sha256(repr(plans).encode("utf-8")).hexdigest()
        around: dict[str, str] = {}
        found = []
        for entry in entries:
            text = texts.get(entry.name)
            if text is None:
                found.append(KnownFile(entry, FileVerdict(None, "cannot be read.", ""), None))
                continue
            folder = entry.name.rpartition("/")[0]
            if folder not in around:
                around[folder] = self._settings_of(folder)
            key = repr((entry.name, text.stamp, around[folder], text.boards and together))
            known = self._verdict(_Question(entry.name, key))
            found.append(KnownFile(entry, known, _commit_of(text, entry.name, committed)))
        return found

    def _text(self, entry: FileEntry) -> _Text | None:
        """Return what is known of the text of a file; None if it cannot be read."""
        known = self._texts.get(entry.name)
        if known and known.mark == entry.mark and time.time() > entry.seconds + FRESH_SECONDS:
            return known
        try:
            content = self._folder.read(entry.name)
        except (NameRefused, NoSuchFile, NotRead):
            return None
        plain = content.replace(b"\r\n", b"\n")
        objects = (*_objects(content), *_objects(plain)) if plain != content else _objects(content)
        found = _Text(entry.mark, stamp_of(content), objects, may_have_boards(content))
        self._texts[entry.name] = found
        return found

    def _settings_of(self, folder: str) -> str:
        """Return a text that differs if the settings for the plans of a folder differ."""
        try:
            return repr(find_settings(f"{self._folder.top}/{folder}"))
        except SettingsError as error:
            return str(error)

    # --- finding verdicts

    def _verdict(self, question: _Question) -> FileVerdict | None:
        """Return a verdict; None if it is not found yet; then the search for it begins."""
        with self._lock:
            if question.key in self._known:
                self._known.move_to_end(question.key)
                return self._known[question.key]
            self._open[question] = None
            if not self._at_work:
                self._at_work = True
                threading.Thread(target=self._find_all, name="verdicts", daemon=True).start()
        return None

    def _find_all(self) -> None:
        while True:
            with self._lock:
                if not self._open:
                    self._at_work = False
                    return
                question, _ = self._open.popitem(last=False)
            verdict = self._find(question)
            with self._lock:
                if verdict is not None:
                    self._known[question.key] = verdict
                while len(self._known) > KEPT:
                    self._known.popitem(last=False)

    def _find(self, question: _Question) -> FileVerdict | None:
        """Judge a file; None if it can no longer be read, or the service ends."""
        try:
            content = self._folder.read(question.name)
        except (NameRefused, NoSuchFile, NotRead):
            return None
        if repr(stamp_of(content)) not in question.key:  # the next list asks again
            return None
        job = JudgeFile(FolderFile(self._folder.top, question.name, content))
        try:
            return self._pool.run(job)
        except Busy:
            time.sleep(PATIENCE_SECONDS)
            return None
        except (JobTooLong, TooMuch, JobLost, JobFault) as error:
            return FileVerdict(None, _WHY_NOT[type(error)], "")


def _objects(content: bytes) -> tuple[str, ...]:
    whole = b"blob %d\0" % len(content) + content
    return sha1(whole, usedforsecurity=False).hexdigest(), sha256(whole).hexdigest()


def _commit_of(text: _Text, name: str, committed: dict[str, str] | None) -> str | None:
    if committed is None:
        return None
    if name not in committed:
        return "new"
    return "same" if committed[name] in text.objects else "changed"
