"""The boards of a plan that git merges: those of each side, and the merged ones."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, NamedTuple

from trappoint.comparing.revisions import RevisionFiles, merge_base
from trappoint.source.files import files_beside

if TYPE_CHECKING:
    from trappoint.source.files import Files

_OTHER = "GITHEAD_"
"""The prefix of the environment variables in which git names the commits that it merges."""


class Sides(NamedTuple):
    """The files around each version of a plan."""

    ours: Files
    theirs: Files
    merged: Files


def files_of_merge(name: str) -> Sides:
    """Return the files around the plan of this name, on both sides of a merge and after it.

    If git names no single merged commit (in a cherry-pick or rebase, or without git), all three
    are the files beside the plan.
    """
    others = [key.removeprefix(_OTHER) for key in os.environ if key.startswith(_OTHER)]
    base = merge_base("HEAD", others[0]) if len(others) == 1 else None
    if base is None:
        beside = files_beside(name)
        return Sides(beside, beside, beside)
    before, ours, theirs = (RevisionFiles(f"{rev}:{name}") for rev in (base, "HEAD", others[0]))
    return Sides(ours, theirs, MergedFiles(before, ours, theirs))


class MergedFiles:
    """The files after a merge: each in the version of the side that changed it."""

    def __init__(self, base: Files, ours: Files, theirs: Files) -> None:
        self._base = base
        self._ours = ours
        self._theirs = theirs

    def read(self, path: str) -> bytes:
        """Return the bytes of a file, given its path from the folder of the plan.

        A file that both sides changed is merged as a plan; if that conflicts, ours is returned.
        """

        base, ours, theirs = (_read(each, path) for each in (self._base, self._ours, self._theirs))
        if ours in (base, theirs):
            found = theirs
        elif theirs == base or theirs is None or ours is None:
            found = ours
        else:
            found = _merged(base or b"", ours, theirs)
        if found is None:
            raise FileNotFoundError(path)
        return found


def _read(files: Files, path: str) -> bytes | None:
    try:
        return files.read(path)
    except FileNotFoundError:
        return None


def _merged(base: bytes, ours: bytes, theirs: bytes) -> bytes:
    from trappoint.merging.merge import merge_sheets, read_version
    from trappoint.source.reading import Unreadable

    sheets = [read_version(content, "") for content in (base, ours, theirs)]
    known = [sheet for sheet in sheets if not isinstance(sheet, Unreadable)]
    if len(known) < len(sheets):
        return ours
    merged = merge_sheets(known[0], known[1], known[2])
    return ours if merged.conflicts else merged.text.encode()
