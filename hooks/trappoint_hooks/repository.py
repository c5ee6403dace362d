"""What git keeps, read from its objects: trees and files, never what lies in a folder."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.source.git import GitError, GitRefusalError, ask_git, talk_to_git
from trappoint.source.reading import LIMIT_BYTES

if TYPE_CHECKING:
    from collections.abc import Iterator
    from subprocess import Popen
    from types import TracebackType

PLAN_ENDING = ".layout.json"
FILES = ("100644", "100755")
"""The modes of plain files: links and repositories within are nothing to read."""


SETTINGS = ("trappoint.toml", "pyproject.toml")
"""Where a club's settings stand, the first one found in the nearest folder."""


def is_plan(path: str) -> bool:
    """Tell whether a file is a plan, by its name."""
    return path.endswith(PLAN_ENDING)


def is_settings(path: str) -> bool:
    """Tell whether a file may hold settings, by its name."""
    return path.rpartition("/")[2] in SETTINGS


class FileChange(NamedTuple):
    """A file that differs between two trees."""

    path: str
    object: str
    """The file as it is now."""
    old_path: str
    """What it was called before; empty where it is new."""
    old_object: str


Tree = dict[str, str]
"""From the paths of plain files to their objects."""


class Repository:
    """Asks git, in the folder and with the environment in which git called the hook.

    The environment is passed on as it is: it tells git where a push that is not taken yet keeps
    its objects.
    """

    def __init__(self) -> None:
        self._reader: Popen[bytes] | None = None

    def __enter__(self) -> Repository:
        """Nothing is started before it is needed."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End the process that reads objects."""
        if self._reader is not None:
            for pipe in (self._reader.stdin, self._reader.stdout):
                if pipe is not None:
                    pipe.close()
            self._reader.wait()

    def ask(self, *words: str) -> str:
        """Return what git answers. Raises ``GitError`` where it fails."""
        return ask_git(*words)

    def commit_of(self, name: str) -> str | None:
        """Return the commit that an object is, or that a tag names; None where there is none."""
        try:
            return self.ask("rev-parse", "--quiet", "--verify", f"{name}^{{commit}}").strip()
        except GitRefusalError:
            return None

    def commits(self, *words: str) -> list[str]:
        """Return the commits that ``git rev-list`` lists."""
        return self.ask("rev-list", *words).split()

    def tree(self, commit: str) -> Tree:
        """Return the plain files of a commit."""
        found: Tree = {}
        for entry in _parts(self.ask("ls-tree", "-r", "-z", "--full-tree", commit)):
            about, _, path = entry.partition("\t")
            mode, _, name = about.split(" ")[:3]
            if mode in FILES:
                found[path] = name
        return found

    def staged(self) -> Tree:
        """Return the plain files of the index, those left out that are in conflict."""
        found: Tree = {}
        for entry in _parts(self.ask("ls-files", "-s", "-z", "--full-name", ":/")):
            about, _, path = entry.partition("\t")
            mode, name, stage = about.split(" ")
            if mode in FILES and stage == "0":
                found[path] = name
        return found

    def changes(self, old: str, new: str) -> list[FileChange]:
        """Return the plain files that are new or differ, renamed ones with their old name."""
        return _changes(self.ask("diff-tree", "-r", *_RAW, old, new))

    def changed_paths(self, old: str, new: str) -> list[str]:
        """Return the files in which two commits differ, deleted ones too."""
        return list(_parts(self.ask("diff-tree", "-r", *_NAMES, old, new)))

    def staged_paths(self) -> list[str]:
        """Return the files by which the index differs from the last commit, deleted ones too."""
        return list(_parts(self.ask("diff", "--cached", *_NAMES)))

    def staged_changes(self) -> list[FileChange]:
        """Return the plain files by which the index differs from the last commit, if any."""
        return _changes(self.ask("diff", "--cached", *_RAW))

    def read(self, name: str) -> bytes:
        """Return a file by its object: at most one byte more than a plan may have."""
        if self._reader is None:
            self._reader = talk_to_git("cat-file", "--batch")
        to, back = self._reader.stdin, self._reader.stdout
        if to is None or back is None:
            raise GitError("`git cat-file` cannot be talked to.")
        try:
            to.write(f"{name}\n".encode("ascii"))
            to.flush()
            head = back.readline().split()
        except OSError:
            head = []
        if len(head) != 3 or head[1] != b"blob":
            raise GitError(f"The object {name} cannot be read.")
        size = int(head[2])
        content = back.read(min(size, LIMIT_BYTES + 1))
        left = size - len(content) + 1  # a line end follows
        while left > 0:
            skipped = len(back.read(min(left, 1 << 16)))
            if not skipped:
                raise GitError(f"The object {name} cannot be read to its end.")
            left -= skipped
        return content


_NAMES = ("--name-only", "-z", "--no-renames", "--no-ext-diff", "--ignore-submodules")
_RAW = ("--raw", "-z", "--no-abbrev", "-M", "--no-ext-diff", "--no-color", "--ignore-submodules")


def _parts(text: str) -> Iterator[str]:
    return (part for part in text.split("\0") if part)


def _changes(raw: str) -> list[FileChange]:
    """Read what ``--raw -z`` prints: ``:MODE MODE OBJECT OBJECT STATUS``, path, another path."""
    found: list[FileChange] = []
    parts = _parts(raw)
    for about in parts:
        old_mode, new_mode, old, new, status = about.lstrip(":").split(" ")
        path = next(parts)
        old_path = path
        if status[:1] in "RC":
            path = next(parts)
        if new_mode not in FILES:
            continue
        known = old_mode in FILES and status[:1] != "C"
        found.append(FileChange(path, new, old_path if known else "", old if known else ""))
    return found
