"""What git keeps, read from its objects: trees and files, never what lies in a folder."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from trappoint.source.files import (
    PLAN_ENDING,
    SETTINGS_NAMES,
    STORE_ENDING,
    is_checked,
    is_plan,
    is_store,
)
from trappoint.source.git import GitError, GitRefusalError, ask_git, talk_to_git
from trappoint.source.reading import LIMIT_BYTES
from trappoint_hooks.trees import FILES, LINK, SUBMODULE, Tree, listed_entries

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from subprocess import Popen
    from types import TracebackType


def same_kind(one: str, other: str) -> bool:
    """Return whether two files are both plans, or both stores, by their names."""
    return (is_plan(one) and is_plan(other)) or (is_store(one) and is_store(other))


class FileChange(NamedTuple):
    """A file that differs between two trees."""

    path: str
    object: str
    """The file as it is now; empty if it is deleted, or no plain file."""
    old_path: str
    """What it was called before; empty if it is new."""
    old_object: str
    leads_on: bool = False
    """Whether it is, or was, a link or a submodule."""


class Repository:
    """Asks git, in the folder and with the environment in which git called the hook.

    The environment is passed on as it is: it tells git where a push that is not taken yet keeps
    its objects.
    """

    def __init__(self) -> None:
        self._readers: dict[str, Popen[bytes]] = {}
        self._homes: dict[str, str] = {}
        self._top: str | None = None

    def __enter__(self) -> Repository:
        """Nothing is started before it is needed."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End the processes that read objects."""
        for home in tuple(self._readers):
            self._end_reader(home)

    def ask(self, *words: str) -> str:
        """Return what git answers. Raises ``GitError`` where it fails."""
        return ask_git(*words)

    def commit_of(self, name: str) -> str | None:
        """Return the commit that an object is, or that a tag names; None if there is none."""
        try:
            return self.ask("rev-parse", "--quiet", "--verify", f"{name}^{{commit}}").strip()
        except GitRefusalError:
            return None

    def commits(self, *words: str, without: Iterable[str] = ()) -> list[str]:
        """Return the lines of ``git rev-list``, without what can be reached from some commits."""
        given = "".join(f"^{name}\n" for name in without)  # there may be too many for words
        return ask_git("rev-list", "--stdin", *words, given=given).splitlines()

    def commits_of_plans(self, new: str, without: Iterable[str]) -> set[str]:
        """Return the commits up to ``new`` that may change plans.

        They are merges, or a file to check, a link or a submodule changes in them.
        """
        given = "".join(f"^{name}\n" for name in without)
        words = ("--format=%x01%H %P", "--no-show-signature", "--root", "--no-renames", "--raw")
        shown = ask_git("log", "--stdin", *words, *_PLAINLY, new, "--", given=given)
        found = set()
        for entry in shown.split("\1")[1:]:
            head, *lines = entry.split("\n")
            commit, *parents = head.split(" ")
            if len(parents) > 1 or any(map(_may_change_plans, lines)):
                found.add(commit)
        return found

    def top(self) -> str | None:
        """Return the top of the work tree; None if there is none, as in a bare repository."""
        if self._top is None:
            try:
                self._top = self.ask("rev-parse", "--show-toplevel").removesuffix("\n")
            except GitRefusalError:
                self._top = ""
        return self._top or None

    def tree(self, commit: str) -> Tree:
        """Return the files of a commit."""
        words = ("ls-tree", "-r", "-z", "--full-tree", commit)
        return Tree(self, lambda: listed_entries(self.ask(*words)))

    def staged(self) -> Tree:
        """Return the files of the index, those left out that are in conflict."""
        return Tree(self, self._staged_entries)

    def _staged_entries(self) -> Iterator[tuple[str, str, str]]:
        for entry in _parts(self.ask("ls-files", "-s", "-z", "--full-name", ":/")):
            about, _, path = entry.partition("\t")
            mode, name, stage = about.split(" ")
            if stage == "0":
                yield mode, name, path

    def changes(self, old: str, new: str) -> list[FileChange]:
        """Return the plans, stores and settings that are new or differ, with their old names.

        Other files are left out: git takes long to find renamed ones among large files.
        """
        words = ("diff-tree", "-r", *_RAW, "-M", old, new, "--", *_CHECKED)
        return [change for change in _changes(self.ask(*words)) if change.object]

    def staged_changes(self) -> list[FileChange]:
        """Return the plans, stores and settings by which the index differs from the last commit."""
        words = ("diff", "--cached", *_RAW, "-M", "--", *_CHECKED)
        return [change for change in _changes(self.ask(*words)) if change.object]

    def touches_plans(self, old: str = "", new: str = "") -> bool:
        """Return whether plans may differ between two commits, or between a commit and the index.

        Stores and settings count as well, deleted files too, and so do links and submodules.
        ``old`` is empty for the last commit, or for none before ``new``.
        """
        return bool(new and not old) or any(
            is_checked(change.path) or is_checked(change.old_path) or change.leads_on
            for change in self._between(old, new)
        )

    def changed(self, old: str, new: str, tree: Tree) -> Iterator[str]:
        """Yield the plain files of a tree, that of ``new`` or of the index, that are not as before.

        ``old`` and ``new`` are as for ``touches_plans``.
        """
        if new and not old:
            return iter(tree)
        return (change.path for change in self._between(old, new) if change.object)

    def grown_from(self, old: str, new: str) -> str:
        """Return the commit that two commits grew from; the old one where there is none."""
        try:
            return self.ask("merge-base", old, new).strip()
        except GitRefusalError:
            return old

    def _between(self, old: str, new: str) -> Iterator[FileChange]:
        words = ("diff-tree", "-r") if new else ("diff", "--cached")
        names = filter(None, (old, new))
        return _changes(self.ask(*words, *_RAW, "--no-renames", *names))

    def keep_home(self, folder: str, objects: Iterable[str]) -> None:
        """Remember in which submodule's folder objects are read."""
        self._homes.update(dict.fromkeys(objects, folder))

    def read(self, name: str) -> bytes:
        """Return a file by its object: at most one byte more than a plan may have."""
        home = self._homes.get(name, "")
        if home not in self._readers:
            self._readers[home] = talk_to_git("cat-file", "--batch", folder=home or None)
        to, back = self._readers[home].stdin, self._readers[home].stdout
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
        content = back.read(min(size, LIMIT_BYTES) + 1)  # a line end follows
        if len(content) <= min(size, LIMIT_BYTES):
            raise GitError(f"The object {name} cannot be read to its end.")
        if size > LIMIT_BYTES:  # the rest may be of any length
            self._end_reader(home)
            return content
        return content[:-1]

    def _end_reader(self, home: str) -> None:
        reader = self._readers.pop(home)
        for pipe in (reader.stdin, reader.stdout):
            if pipe is not None:
                with suppress(OSError):  # a question to a process that is gone
                    pipe.close()
        reader.kill()
        reader.wait()


_PLAINLY = ("--no-abbrev", "--no-ext-diff", "--no-color", "--ignore-submodules=none")
_RAW = ("--raw", "-z", *_PLAINLY)
_CHECKED = (
    *(f":(top,icase,glob)**/*{ending}" for ending in (PLAN_ENDING, STORE_ENDING)),
    *(f":(top,glob)**/{name}" for name in SETTINGS_NAMES),
)


def _parts(text: str) -> Iterator[str]:
    return (part for part in text.split("\0") if part)


def _may_change_plans(line: str) -> bool:
    """Return whether a line of ``--raw`` may be of a plan.

    Such a line is ``:MODE MODE OBJECT OBJECT STATUS``, then the path.


    A path with odd letters is in quotes.
    """
    about, _, path = line.partition("\t")
    leads_on = not {LINK, SUBMODULE}.isdisjoint(about.lstrip(":").split(" ")[:2])
    return leads_on or is_checked(path.strip('"'))


def _changes(raw: str) -> Iterator[FileChange]:
    """Read what ``--raw -z`` prints: ``:MODE MODE OBJECT OBJECT STATUS``, path, another path."""
    parts = _parts(raw)
    for about in parts:
        old_mode, new_mode, old, new, status = about.lstrip(":").split(" ")
        path = next(parts)
        old_path = path
        if status[:1] in "RC":
            path = next(parts)
        known = old_mode in FILES and status[:1] != "C"
        yield FileChange(
            path,
            new if new_mode in FILES else "",
            old_path if known else "",
            old if known else "",
            not {old_mode, new_mode}.isdisjoint((LINK, SUBMODULE)),
        )
