"""Reading a plan as it was: ``REV:PATH``, from the repository of the current folder.

Git is asked for the object itself: nothing is checked out, and no filter of the repository's runs.
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
    """Return whether a word means a plan in git and not a file: it has a colon, and no file has it.

    A colon after a single letter, before a slash of either kind, is a drive's.
    """
    before, colon, after = word.partition(":")
    if not colon or os.path.exists(word):  # noqa: PTH110 - pathlib costs start-up
        return False
    return not (len(before) == 1 and before.isalpha() and after[:1] in ("\\", "/"))


def read_revision(word: str) -> bytes:
    """Return what stands under ``REV:PATH``; ``:PATH`` is what is staged.

    At most one byte more than a plan may have is read. Raises UnusableFile with a sentence that
    says what is wrong.
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
            f"There is no file {visible(word)}, and no git repository here to look for "
            f"{visible(path)} in {visible(rev) or 'what is staged'}."
        )
    if rev and _ask("rev-parse", "--verify", "--quiet", f"{rev}^{{tree}}") is None:
        raise UnusableFile(
            f"There is no file {visible(word)}, and git knows no revision {visible(rev)}."
        )
    hint = ""
    if not path.startswith("./") and _ask("cat-file", "blob", f"{rev}:./{path}") is not None:
        hint = f" Paths are seen from the top of the repository; is {rev}:./{path} meant?"
    where = visible(rev) or "what is staged"
    raise UnusableFile(f"There is no file {visible(path)} in {where}.{hint}")


class RevisionFiles:
    """The files around a plan under ``REV:PATH``, in what git has there."""

    def __init__(self, word: str) -> None:
        self._rev, _, self._path = word.partition(":")
        self._folder: str | None = None

    def read(self, path: str) -> bytes:
        """Return a file, by its path as seen from the folder of the plan."""
        if self._folder is None:
            top = self._path
            if top.startswith(("./", "../")):
                top = posixpath.join(
                    os.fsdecode(_ask("rev-parse", "--show-prefix") or b"").strip(), top
                )
            self._folder = posixpath.dirname(posixpath.normpath(top))
        content = _ask("cat-file", "blob", f"{self._rev}:{within(self._folder, path)}")
        if content is None:
            raise FileNotFoundError(path)
        return content


def merge_base(one: str, other: str) -> str | None:
    """Return the commit that two others grew from; None if there is none."""
    found = _ask("merge-base", one, other)
    return None if found is None else os.fsdecode(found).strip()


def files_around(word: str) -> Files:
    """Return the files around a plan: on the disk, or in what git has under ``REV:PATH``."""
    return RevisionFiles(word) if is_revision(word) else files_beside(word)


def _ask(*words: str) -> bytes | None:
    """Return what git answers, None if it fails."""
    try:
        return read_from_git(*words, most=LIMIT_BYTES + 1)
    except GitMissingError:
        raise UnusableFile("The program git is not there to be asked.") from None
