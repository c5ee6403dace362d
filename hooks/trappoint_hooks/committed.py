"""Plans, boards and settings for ``trappoint check``, read from the index or from a commit."""

from __future__ import annotations

import os
import os.path
import posixpath
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.discovery import PlanSource
from trappoint.core.errors import CannotUse
from trappoint.source.files import is_checked, is_settings
from trappoint.source.git import GitError, GitRefusalError
from trappoint.source.reading import UnusableFile, why_unusable
from trappoint_hooks.repository import Repository

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from trappoint.app.discovery import Word
    from trappoint.model.settings import Settings
    from trappoint_hooks.judging import HookRefusal, Judge, TreeFiles
    from trappoint_hooks.trees import Tree


class Change(NamedTuple):
    """The commit or the index to check, and the commit to compare it with."""

    repository: Repository
    prefix: str
    """The path of the current folder from the top, with a slash at its end; empty for the top."""
    new: str
    """The commit to check; empty for the index."""
    old: str
    """The commit to compare with; empty if there is none. For the index, empty means HEAD."""

    def touches_plans(self) -> bool:
        """Return whether a plan may differ."""
        return self.repository.touches_plans(self.old, self.new)

    def before(self) -> list[Tree]:
        """Return the tree of the commit to compare with; an empty list if there is none."""
        old = self.old if self.old or self.new else self.repository.commit_of("HEAD")
        return [self.repository.tree(old)] if old else []


def change_of(repository: Repository) -> Change | None:
    """Return the change that pre-commit asks about; None if there is no work tree.

    pre-commit names two commits with ``--from-ref`` and ``--to-ref``, at a push and after a
    checkout. At the first push of a branch it names only the branch; after a merge, nothing.
    """
    try:
        answer = repository.ask("rev-parse", "--is-inside-work-tree", "--show-prefix")
    except GitRefusalError:
        return None
    inside, prefix = answer.split("\n")[:2]
    if inside != "true":
        return None

    def named(name: str) -> str:
        value = os.environ.get(f"PRE_COMMIT_{name}")
        return (repository.commit_of(value) or "") if value else ""

    old, new = named("FROM_REF"), named("TO_REF") or named("LOCAL_BRANCH")
    if old and new:
        old = repository.grown_from(old, new)
    elif not new and os.environ.get("PRE_COMMIT_IS_SQUASH_MERGE") == "0":
        old = repository.commit_of("ORIG_HEAD") or ""
    return Change(repository, prefix, new, old)


class InTree:
    """Reads plans, boards, stores and settings from the index or a commit."""

    def __init__(self, change: Change) -> None:
        from trappoint_hooks.judging import Judge

        self._change = change
        self.judge: Judge = Judge(change.repository, "error")
        repository = change.repository
        self.tree = repository.tree(change.new) if change.new else repository.staged()

    def __reduce__(self) -> tuple[object, ...]:
        """Let another process start its own git."""
        return in_tree_of, (self._change.prefix, self._change.new)

    def path(self, name: str) -> str:
        """Return a file's path from the top, given its name from the current folder."""
        if os.path.isabs(name):  # noqa: PTH117 - pathlib costs start-up
            folder, own = os.path.split(name)
            here = os.path.relpath(os.path.realpath(folder), os.path.realpath("."))
            name = f"{here}{os.sep}{own}"
        return posixpath.normpath(self._change.prefix + name.replace(os.sep, "/"))

    def name(self, path: str) -> str:
        """Return a file's name from the current folder, given its path from the top."""
        return posixpath.relpath(path, self._change.prefix or ".").replace("/", os.sep)

    def has(self, path: str) -> bool:
        """Return whether there is a file or a link with this path."""
        return path in self.tree or self.tree.is_link(path)

    def read(self, name: str) -> bytes:
        """Return the bytes of a file. Raises ``UnusableFile``."""
        try:
            return self.judge.repository.read(self.tree.find(self.path(name)))
        except (OSError, ValueError) as error:
            raise UnusableFile(why_unusable(name, error)) from None
        except GitError as error:
            raise UnusableFile(f"{name} cannot be read: {error}") from None

    def settings(self, name: str) -> Settings:
        """Return the settings for a plan. Raises ``SettingsError``."""
        found = self.judge.settings_for(self.path(name), self.tree)[0]
        return found._replace(folder=self.name(found.folder or "."))

    def files(self, name: str) -> TreeFiles:
        """Return the files around a plan."""
        from trappoint_hooks.judging import TreeFiles

        return TreeFiles(self.judge.repository, self.tree, self.path(name))


@cache
def in_tree_of(prefix: str, new: str) -> InTree:
    """Return the reader of a commit, or of the index if ``new`` is empty."""
    return InTree(Change(Repository(), prefix, new, ""))


def sources_of(change: Change, names: Sequence[str], *, others: bool) -> list[Word]:
    """Return the files to check: the named ones, and the plans that include them as boards.

    Plans whose boards changed are returned too. A file that git does not track stays a name.
    ``others`` adds the changed files that are not in the folder, and links that lead nowhere.
    """
    around = InTree(change)
    found: list[Word] = []
    paths: dict[str, None] = {}
    for name in names:
        path = around.path(name)
        if around.has(path):
            paths[path] = None
        else:
            found.append(name)
    before = change.before()
    refusals: list[HookRefusal] = []
    if others:
        paths |= dict.fromkeys(_absent(change, around))
        refusals += around.judge.bad_links(around.tree, before)
    paths |= dict.fromkeys(_with_boards(around, before, paths))
    refusals += around.judge.bad_settings(paths, around.tree)
    found += map(CannotUse, dict.fromkeys(refusal.reason for refusal in refusals))
    plans = (path for path in paths if not is_settings(path))
    return [*found, *(PlanSource(around.name(path), around=around) for path in plans)]


def _absent(change: Change, around: InTree) -> Iterator[str]:
    """Yield the changed files that are not in the folder: pre-commit does not name them."""
    for path in change.repository.changed(change.old, change.new, around.tree):
        if is_checked(path) and not os.path.lexists(around.name(path)):
            yield path


def _with_boards(around: InTree, before: Sequence[Tree], paths: dict[str, None]) -> Iterator[str]:
    """Yield the plans that include one of these files as a board, or whose boards changed."""

    judge = around.judge
    for now, _ in judge.with_changed_boards(around.tree, before, paths):
        yield now.path
    for now in judge.assembled_plans(around.tree):
        if now.path not in paths and any(place in paths for place, _ in judge.boards(now)):
            yield now.path
