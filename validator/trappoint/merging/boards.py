"""The boards of a plan that git merges: those of each side, and what is to come of them."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, NamedTuple

from trappoint.comparing.revisions import RevisionFiles, merge_base
from trappoint.source.files import files_beside

if TYPE_CHECKING:
    from trappoint.source.files import Files

_OTHER = "GITHEAD_"
"""Git names the commits that it merges so, in what it hands on to programs that it calls."""


class Sides(NamedTuple):
    """The files around each version of a plan."""

    ours: Files
    theirs: Files
    merged: Files


def files_of_merge(name: str) -> Sides:
    """Return the files around the plan of this name, on both sides of a merge and after it.

    Where git does not say which commit is merged (when it picks one or moves a branch, or where
    nobody merges at all) all are those that lie beside the plan.
    """
    others = [key.removeprefix(_OTHER) for key in os.environ if key.startswith(_OTHER)]
    base = merge_base("HEAD", others[0]) if len(others) == 1 else None
    if base is None:
        beside = files_beside(name)
        return Sides(beside, beside, beside)
    before, ours, theirs = (RevisionFiles(f"{rev}:{name}") for rev in (base, "HEAD", others[0]))
    return Sides(ours, theirs, MergedFiles(before, ours, theirs))


class MergedFiles:
    """Files as they will be when a merge is done: each as the side has it that changed it."""

    def __init__(self, base: Files, ours: Files, theirs: Files) -> None:
        self._base = base
        self._ours = ours
        self._theirs = theirs

    def read(self, path: str) -> bytes:
        """Return a file, by its path as seen from the folder of the plan.

        What both have changed is merged as plans are; where that leaves a conflict, it is ours.
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
