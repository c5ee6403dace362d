"""Merge three versions of a plan by id and key, not by lines.

If two members change different things, the merged plan has both changes, anywhere in the text. If
they change the same thing in different ways, that is a conflict, and the merged text has both
versions between the marks that git uses.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from trappoint.merging.clashes import lift_clashes
from trappoint.merging.conflicts import titles_of
from trappoint.merging.renames import Renames, find_renames, renamed_sheet
from trappoint.merging.three_way import merge_trees
from trappoint.tidying.lines import MARKS, lay_out
from trappoint.tidying.tidy import read_plan, tidy_sheet, write_tree
from trappoint.tidying.tree import SourceTree

if TYPE_CHECKING:
    from collections.abc import Collection

    from trappoint.merging.conflicts import MergeConflict
    from trappoint.merging.three_way import Path, Undecided
    from trappoint.model.renaming import Key
    from trappoint.source.reading import Unreadable
    from trappoint.tidying.tree import Gaps, Tree

EMPTY = SourceTree("nothing", "", {}, frozenset())
"""A version in which there is no plan yet."""


def read_version(content: bytes, name: str) -> SourceTree | Unreadable:
    """Read a version of a plan. Git passes an empty file if the version has no file."""
    return read_plan(content, name) if content.strip() else EMPTY


def write_both(ours: bytes, theirs: bytes) -> bytes:
    """Return both versions whole between marks, for versions that cannot be read.

    The marks are longer than any marks that the versions already have.
    """
    lines = {*ours.splitlines(), *theirs.splitlines()}
    longer = 0
    while any(line.startswith(mark[0].encode() * (7 + longer)) for line in lines for mark in MARKS):
        longer += 1
    begin, between, end = (f"{mark[0] * longer}{mark}".encode() for mark in MARKS)
    return b"\n".join((begin, ours.rstrip(), between, theirs.rstrip(), end, b""))


class Merged(NamedTuple):
    """The merged text of three versions of a plan."""

    text: str
    conflicts: list[MergeConflict]
    renames: Renames
    """The new ids of one version that were used in the other version too."""


class Joined(NamedTuple):
    """The merged tree of three versions of a plan."""

    tree: Tree
    """With a ``VersionClash`` at each conflict."""
    conflicts: list[MergeConflict]
    gaps: Gaps
    renames: Renames


def merge_sheets(
    base: SourceTree, ours: SourceTree, theirs: SourceTree, undecided: Undecided | None = None
) -> Merged:
    """Merge three versions of a plan.

    If one version renamed a thing and the match is sure, the other version gets the new id first.
    If ours or theirs already is the merged plan, its text stays as it is; otherwise the text is
    tidy, with the line ends of ours. ``undecided`` are the undecided places of the base.
    """
    merged, conflicts, gaps, renames = join_sheets(base, ours, theirs, undecided)
    if conflicts:
        text = lay_out(lift_clashes(merged), gaps)
        text = text.replace("\n", "\r\n") if ours.crlf else text
        return Merged(text, conflicts, renames)
    return Merged(_text(merged, gaps, ours, theirs), [], renames)


def join_sheets(
    base: SourceTree,
    ours: SourceTree,
    theirs: SourceTree,
    undecided: Undecided | None = None,
    unsettled: Collection[Path] = (),
) -> Joined:
    """Merge three versions of a plan as trees.

    If the base has undecided places, renames are not followed: an id of the base may belong
    to another thing there.
    """
    sure = not undecided and not unsettled
    renames = find_renames(base, ours, theirs) if sure else Renames({}, {}, {})
    was = renamed_sheet(base, renames.ours | renames.theirs)
    one = renamed_sheet(ours, _not_yet(renames.theirs, renames.ours))
    other = renamed_sheet(theirs, _not_yet(renames.ours, renames.theirs))
    merged, conflicts = merge_trees(
        was.tree, one.tree, other.tree, renames.differing, undecided, unsettled
    )
    if conflicts:
        titles = titles_of(one.tree, other.tree, was.tree)
        conflicts = [replace(conflict, titles=titles) for conflict in conflicts]
    return Joined(merged, conflicts, _gaps(was, one, other), renames)


def _not_yet(names: dict[Key, str], own: dict[Key, str]) -> dict[Key, str]:
    """Return the renames of the other version that a version does not have itself."""
    return {key: name for key, name in names.items() if key not in own}


def _text(merged: Tree, gaps: Gaps, ours: SourceTree, theirs: SourceTree) -> str:
    if _alike(merged, gaps, ours):
        return ours.text
    tidy = write_tree(merged, gaps, crlf=ours.crlf)
    if tidy_sheet(ours) != ours.text and _alike(merged, gaps, theirs) and ours.crlf == theirs.crlf:
        return theirs.text
    return tidy


def _alike(merged: Tree, gaps: Gaps, sheet: SourceTree) -> bool:
    """Return whether a version already is the merged plan, in the same order."""
    return lay_out(merged, gaps) == lay_out(sheet.tree, sheet.gaps)


def _gaps(base: SourceTree, ours: SourceTree, theirs: SourceTree) -> Gaps:
    """Return the keys with an empty line before them; a change of one version is taken."""
    every = ours.gaps | theirs.gaps
    return frozenset(
        path
        for path in every
        if (
            (path in ours.gaps)
            if (path in base.gaps) == (path in theirs.gaps)
            else (path in theirs.gaps)
        )
    )
