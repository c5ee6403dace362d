"""The last commits that changed a plan, and what each changed in the railway's terms.

A plan made from boards changes with them. A plan that was renamed in one step is followed.
"""

from __future__ import annotations

import os
import os.path
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from trappoint.checking.check import may_have_boards
from trappoint.comparing.comparison import compare
from trappoint.comparing.revisions import RevisionFiles, read_blob
from trappoint.comparing.sides import no_side, read_side
from trappoint.source.git import GitError, ask_git, try_git
from trappoint.source.opening import repository_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.comparing.model import Comparison, Side
    from trappoint.model.settings import Settings
    from trappoint.source.files import Files

MOST = 10
"""The number of commits that are compared."""


class PlanCommit(NamedTuple):
    """A commit that changed a plan, or one of its boards."""

    id: str
    """The whole name of the commit in git."""
    seconds: int
    """The time of the commit, in seconds since 1970 (UTC)."""
    subject: str
    """The first line of its message."""
    parent: str
    """The name of its first parent; empty if it has none."""
    path: str
    """The path of the plan in it, from the top of the repository."""
    old_path: str
    """The path of the plan in the parent."""


class CommitChange(NamedTuple):
    """A commit, and what it changed."""

    commit: PlanCommit
    comparison: Comparison | None
    """None if a version cannot be compared."""
    trouble: str = ""
    """Why the two versions cannot be compared; empty if they can."""


class History(NamedTuple):
    """The last commits that changed a plan, the newest first."""

    changes: tuple[CommitChange, ...] = ()
    cut: bool = False
    """True if the clone is shallow, so that older commits are missing."""
    edited: bool = False
    """True if the plan on the disk differs from the last commit, or is in no commit."""

    @property
    def seconds(self) -> int | None:
        """The time of the newest commit, in seconds since 1970 (UTC); None if there is none."""
        return self.changes[0].commit.seconds if self.changes else None


class SinceCommit(NamedTuple):
    """What a plan on the disk has that its last commit has not."""

    commit: PlanCommit | None
    """The last commit that changed the plan; None if it is in no commit."""
    comparison: Comparison
    old: bytes
    """The text in the last commit; empty if there is none."""


def since_commit(
    name: str, content: bytes, settings: Settings, files: Files | None = None
) -> SinceCommit | None:
    """Compare a plan on the disk with the last commit; None outside of git.

    ``files`` are the files around the plan on the disk. Raises ``UnusableFile`` if git is missing.
    """
    top = repository_of(os.path.dirname(name))  # noqa: PTH120
    path = None if top is None else _from_top(top, name)
    if top is None or path is None or try_git("rev-parse", folder=top, any_repository=True) is None:
        return None
    old, label = read_blob(f"HEAD:{path}", top), os.path.basename(name)  # noqa: PTH119
    before = no_side(label)
    if old is not None:
        before = read_side(old, label, settings, RevisionFiles(f"HEAD:{path}", top))
    newest = _log(top, "HEAD", [path], 1) if old is not None else []
    now = read_side(content, label, settings, files)
    return SinceCommit(newest[0] if newest else None, compare(before, now), old or b"")


def history_of(
    name: str, boards: Sequence[str], content: bytes, settings: Settings
) -> History | None:
    """Return the history of a plan on the disk; None outside of git.

    ``name`` and ``boards`` are the files of the plan and of its boards, ``content`` is the plan's.
    The settings of today count for all versions, so that only changes of the plan make a
    difference.
    """
    top = repository_of(os.path.dirname(name))  # noqa: PTH120
    if top is None or try_git("rev-parse", "HEAD", folder=top, any_repository=True) is None:
        return None
    paths = [path for path in (_from_top(top, each) for each in (name, *boards)) if path]
    if not paths or paths[0] != _from_top(top, name):
        return None
    commits = _commits(top, paths)
    grown = [commit for commit in commits if commit.id not in shallow_commits(top)]
    newest = read_blob(f"HEAD:{paths[0]}", top)
    versions = _Versions(top, settings)
    changes = tuple(versions.change(commit) for commit in grown)
    return History(
        tuple(change for change in changes if change.comparison is not None or change.trouble),
        cut=len(grown) < len(commits),
        edited=newest is None or _lines(newest) != _lines(content),
    )


@cache
def shallow_commits(top: str) -> frozenset[str]:
    """Return the commits of a shallow clone whose parents are missing; none for a whole clone."""
    place = try_git("rev-parse", "--git-path", "shallow", folder=top, any_repository=True)
    if place is None:
        return frozenset()
    try:
        with open(os.path.join(top, place.strip()), encoding="ascii") as file:  # noqa: PTH118, PTH123
            return frozenset(file.read().split())
    except (OSError, ValueError):
        return frozenset()


def _from_top(top: str, name: str) -> str | None:
    """Return the path of a file from the top of its repository; None if it is not in it."""
    folder, own = os.path.split(name)
    here = os.path.relpath(os.path.realpath(folder or "."), os.path.realpath(top))
    path = os.path.normpath(os.path.join(here, own)).replace(os.sep, "/")  # noqa: PTH118
    return None if path.startswith("../") else path


def _lines(content: bytes) -> bytes:
    """Return a text with the line ends that git keeps."""
    return content.replace(b"\r\n", b"\n")


# --- the commits


def _commits(top: str, paths: list[str]) -> list[PlanCommit]:
    found: list[PlanCommit] = []
    start, (plan, *boards) = "HEAD", paths
    while len(found) < MOST:
        more = _log(top, start, [plan, *boards], MOST - len(found))
        found += more
        if not more or not more[-1].parent or _is_there(top, more[-1].parent, plan):
            break
        first = more[-1]
        old = _name_before(top, first)
        if old is None:
            break
        found[-1] = first._replace(old_path=old)
        start, plan = first.parent, old
    return found


def _log(top: str, start: str, paths: list[str], most: int) -> list[PlanCommit]:
    plainly = ("--literal-pathspecs", "-c", "log.follow=false", "-c", "log.showSignature=false")
    form = ("-z", "--no-color", "--encoding=UTF-8", "--format=%H%x00%P%x00%ct%x00%s")
    words = (*plainly, "log", f"--max-count={most}", *form, start, "--", *paths)
    try:
        parts = ask_git(*words, folder=top, any_repository=True).split("\0")
    except GitError:
        return []
    return [
        PlanCommit(name, int(seconds), subject, parents.partition(" ")[0], paths[0], paths[0])
        for name, parents, seconds, subject in zip(
            *(parts[each:-1:4] for each in range(4)), strict=True
        )
    ]


def _is_there(top: str, commit: str, path: str) -> bool:
    words = ("--literal-pathspecs", "ls-tree", "-z", "--full-tree", commit, "--", path)
    return bool(try_git(*words, folder=top, any_repository=True))


def _name_before(top: str, commit: PlanCommit) -> str | None:
    """Return the path of a plan before a commit that renamed it; None if it did not."""
    words = ("diff-tree", "-r", "-M", "-z", "--name-status", "--diff-filter=R")
    found = try_git(*words, commit.parent, commit.id, folder=top, any_repository=True)
    parts = (found or "").split("\0")  # status, old path, new path; empty at the end
    pairs = zip(parts[1::3], parts[2::3], strict=True)
    return next((old for old, new in pairs if new == commit.path), None)


# --- their versions


class _Versions:
    """Reads the versions of one plan, the same text once."""

    def __init__(self, top: str, settings: Settings) -> None:
        self._top = top
        self._settings = settings
        self._read: dict[bytes, Side] = {}

    def change(self, commit: PlanCommit) -> CommitChange:
        """Compare the version of a commit with the one before. Raises nothing."""
        try:
            new = self._side(commit.id, commit.path)
            old = self._side(commit.parent, commit.old_path) if commit.parent else no_side("")
            if old is None or new is None:
                return CommitChange(commit, None, "git cannot read one of the two versions.")
            if old.absent and new.absent:  # a board, before it was part of the plan
                return CommitChange(commit, None)
            return CommitChange(commit, compare(old, new))
        except Exception as error:  # the other commits are compared all the same
            what = f"{type(error).__name__}: {error}"
            return CommitChange(commit, None, f"the program failed ({what}). Please report it.")

    def _side(self, commit: str, path: str) -> Side | None:
        """Return the plan in a commit; None if git cannot read it."""
        word = f"{commit}:{path}"
        content = read_blob(word, self._top)
        if content is None:
            return None if _is_there(self._top, commit, path) else no_side("")
        if may_have_boards(content):
            files = RevisionFiles(word, self._top)
            return read_side(content, path, self._settings, files)
        if content not in self._read:
            self._read[content] = read_side(content, path, self._settings)
        return self._read[content]
