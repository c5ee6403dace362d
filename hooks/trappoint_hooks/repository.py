"""Read trees and files from git's objects, never from the folder."""

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
    """Return whether two names are both those of plans, or both those of stores."""
    return (is_plan(one) and is_plan(other)) or (is_store(one) and is_store(other))


class FileChange(NamedTuple):
    """A file that differs between two trees."""

    path: str
    object: str
    """The object of the new file; empty if the file is deleted or not a plain file."""
    old_path: str
    """The path before; empty if the file is new."""
    old_object: str
    leads_on: bool = False
    """True if it is, or was, a link or a submodule."""


class Repository:
    """Calls git, in the folder and with the environment in which git called the hook.

    The environment is passed on unchanged: during a push, it names the folder of the new objects.
    """

    def __init__(self) -> None:
        self._readers: dict[str, Popen[bytes]] = {}
        self._homes: dict[str, str] = {}
        self._top: str | None = None

    def __enter__(self) -> Repository:
        """Return the repository; processes start when they are needed."""
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
        """Return git's output. Raises ``GitError`` if git fails."""
        return ask_git(*words)

    def commit_of(self, name: str) -> str | None:
        """Return the commit that an object is or a tag names; None if there is none."""
        try:
            return self.ask("rev-parse", "--quiet", "--verify", f"{name}^{{commit}}").strip()
        except GitRefusalError:
            return None

    def commits(self, *words: str, without: Iterable[str] = ()) -> list[str]:
        """Return the lines of ``git rev-list``, without the commits reachable from ``without``."""
        given = "".join(f"^{name}\n" for name in without)  # may be too many for arguments
        return ask_git("rev-list", "--stdin", *words, given=given).splitlines()

    def commits_of_plans(self, new: str, without: Iterable[str]) -> set[str]:
        """Return the commits up to ``new`` that may change plans.

        A commit may if it is a merge, or changes a file to check, a link or a submodule.
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
        """Return the top folder of the work tree; None if there is none (a bare repository)."""
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
        """Return the files of the index, without those in conflict."""
        return Tree(self, self._staged_entries)

    def _staged_entries(self) -> Iterator[tuple[str, str, str]]:
        for entry in _parts(self.ask("ls-files", "-s", "-z", "--full-name", ":/")):
            about, _, path = entry.partition("\t")
            mode, name, stage = about.split(" ")
            if stage == "0":
                yield mode, name, path

    def changes(self, old: str, new: str) -> list[FileChange]:
        """Return the plans, stores and settings that are new or differ, with their old names.

        Other files are left out, because git is slow to find renames among large files.
        """
        words = ("diff-tree", "-r", *_RAW, "-M", old, new, "--", *_CHECKED)
        return [change for change in _changes(self.ask(*words)) if change.object]

    def staged_changes(self) -> list[FileChange]:
        """Return the plans, stores and settings in the index that differ from the last commit."""
        words = ("diff", "--cached", *_RAW, "-M", "--", *_CHECKED)
        return [change for change in _changes(self.ask(*words)) if change.object]

    def touches_plans(self, old: str = "", new: str = "") -> bool:
        """Return whether plans may differ between two commits, or between a commit and the index.

        Stores, settings, deleted files, links and submodules count too. An empty ``new`` means the
        index; an empty ``old`` means the last commit, or no commit before ``new``.
        """
        return bool(new and not old) or any(
            is_checked(change.path) or is_checked(change.old_path) or change.leads_on
            for change in self._between(old, new)
        )

    def changed(self, old: str, new: str, tree: Tree) -> Iterator[str]:
        """Yield the paths of the plain files that differ between ``old`` and ``new``.

        ``tree`` is the tree of ``new``; ``old`` and ``new`` are as for ``touches_plans``.
        """
        if new and not old:
            return iter(tree)
        return (change.path for change in self._between(old, new) if change.object)

    def grown_from(self, old: str, new: str) -> str:
        """Return the merge base of two commits; ``old`` if they have none."""
        try:
            return self.ask("merge-base", old, new).strip()
        except GitRefusalError:
            return old

    def _between(self, old: str, new: str) -> Iterator[FileChange]:
        words = ("diff-tree", "-r") if new else ("diff", "--cached")
        names = filter(None, (old, new))
        return _changes(self.ask(*words, *_RAW, "--no-renames", *names))

    def keep_home(self, folder: str, objects: Iterable[str]) -> None:
        """Remember the submodule's folder from which to read these objects."""
        self._homes.update(dict.fromkeys(objects, folder))

    def read(self, name: str) -> bytes:
        """Return the bytes of an object: at most one byte more than a plan may have."""
        home = self._homes.get(name, "")
        if home not in self._readers:
            self._readers[home] = talk_to_git("cat-file", "--batch", folder=home or None)
        to, back = self._readers[home].stdin, self._readers[home].stdout
        if to is None or back is None:
            raise GitError("`git cat-file` cannot be started.")
        try:
            to.write(f"{name}\n".encode("ascii"))
            to.flush()
            head = back.readline().split()
        except OSError:
            head = []
        if len(head) != 3 or head[1] != b"blob":
            raise GitError(f"The object {name} cannot be read.")
        size = int(head[2])
        content = back.read(min(size, LIMIT_BYTES) + 1)  # git adds a line end
        if len(content) <= min(size, LIMIT_BYTES):
            raise GitError(f"The object {name} cannot be read to its end.")
        if size > LIMIT_BYTES:  # the rest may have any length
            self._end_reader(home)
            return content
        return content[:-1]

    def _end_reader(self, home: str) -> None:
        reader = self._readers.pop(home)
        for pipe in (reader.stdin, reader.stdout):
            if pipe is not None:
                with suppress(OSError):  # the process may have ended
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
    """Return whether a line of ``--raw`` may be about a plan, a link or a submodule.

    The line is ``:MODE MODE OBJECT OBJECT STATUS``, a tab and the path, which may be in quotes.
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
