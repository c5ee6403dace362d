"""Read a plan from a revision, ``REV:PATH``, of the repository of the current folder.

It reads git's object: it checks nothing out, and runs no filter of the repository.
"""

from __future__ import annotations

import os
import os.path
import posixpath
from typing import TYPE_CHECKING

from trappoint.core.quoting import visible
from trappoint.source.files import files_beside, within
from trappoint.source.git import GitMissingError, read_from_git
from trappoint.source.reading import LIMIT_BYTES, UnusableFile

if TYPE_CHECKING:
    from trappoint.source.files import Files


def is_revision(word: str) -> bool:
    """Return whether an argument names a plan in git: it has a colon, and no such file exists.

    A colon after a single letter and before a slash of either kind belongs to a drive.
    """
    before, colon, after = word.partition(":")
    if not colon or os.path.exists(word):  # noqa: PTH110 - pathlib costs start-up
        return False
    return not (len(before) == 1 and before.isalpha() and after[:1] in ("\\", "/"))


def read_revision(word: str) -> bytes:
    """Return the file at ``REV:PATH``; ``:PATH`` is the staged file.

    Reads at most one byte more than a plan may have. Raises ``UnusableFile`` with one sentence.
    """
    rev, _, path = word.partition(":")
    if word.startswith("-"):
        raise UnusableFile(f"{visible(word)} is not a revision and a path.")
    if not path:
        raise UnusableFile(f"A path is missing after {visible(word)}: write REV:PATH.")
    content = _ask("cat-file", "blob", word)
    if content is not None:
        return content
    if _ask("rev-parse", "--git-dir") is None:
        raise UnusableFile(
            f"There is no file {visible(word)}, and this folder is not in a git repository."
        )
    if rev and _ask("rev-parse", "--verify", "--quiet", f"{rev}^{{tree}}") is None:
        raise UnusableFile(
            f"There is no file {visible(word)}, and git has no revision {visible(rev)}."
        )
    hint = ""
    if not path.startswith("./") and _ask("cat-file", "blob", f"{rev}:./{path}") is not None:
        hint = f" Paths start at the top of the repository. Did you mean {rev}:./{path}?"
    where = visible(rev) or "the index"
    raise UnusableFile(f"There is no file {visible(path)} in {where}.{hint}")


class RevisionFiles:
    """The files around a plan at ``REV:PATH``, in that revision."""

    def __init__(self, word: str, top: str | None = None) -> None:
        """``top`` is a folder of the repository (default: the current folder)."""
        self._rev, _, self._path = word.partition(":")
        self._top = top
        self._folder: str | None = None

    def read(self, path: str) -> bytes:
        """Return the bytes of a file, given its path from the folder of the plan."""
        if self._folder is None:
            top = self._path
            if top.startswith(("./", "../")):
                top = posixpath.join(
                    os.fsdecode(_ask("rev-parse", "--show-prefix", top=self._top) or b"").strip(),
                    top,
                )
            self._folder = posixpath.dirname(posixpath.normpath(top))
        content = read_blob(f"{self._rev}:{within(self._folder, path)}", self._top)
        if content is None:
            raise FileNotFoundError(path)
        return content


def merge_base(one: str, other: str) -> str | None:
    """Return the merge base of two commits; None if there is none."""
    found = _ask("merge-base", one, other)
    return None if found is None else os.fsdecode(found).strip()


def files_around(word: str) -> Files:
    """Return the files around a plan: those on the disk, or those of the revision."""
    return RevisionFiles(word) if is_revision(word) else files_beside(word)


def read_blob(word: str, top: str | None = None) -> bytes | None:
    """Return the file at ``REV:PATH``, at most one byte more than a plan may have; None if git has
    no such file.

    ``top`` is a folder of the repository (default: the current folder).
    """
    return _ask("cat-file", "blob", word, top=top)


def _ask(*words: str, top: str | None = None) -> bytes | None:
    """Return git's output; None if git fails."""
    try:
        return read_from_git(*words, most=LIMIT_BYTES + 1, folder=top)
    except GitMissingError:
        raise UnusableFile("The program git is not installed.") from None
