"""Merging: three versions of a plan put together by id and key, not by lines.

Two members who worked at two ends of a station change different things, and both changes are
taken over, wherever they stand in the text. Where both changed the same thing, each in his own
way, it is a conflict, and both versions are written, between the marks that git uses too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.merging.clashes import lift_clashes
from trappoint.merging.three_way import merge_trees
from trappoint.tidying import lay_out, tidy_sheet, write_tree
from trappoint.tidying.tree import Sheet

if TYPE_CHECKING:
    from trappoint.merging.conflicts import Conflict
    from trappoint.tidying.tree import Gaps, Tree

EMPTY = Sheet("nothing", "", {}, frozenset())
"""A version in which there is no plan yet."""


class Merged(NamedTuple):
    """What comes of three versions of a plan."""

    text: str
    conflicts: list[Conflict]


def merge_sheets(base: Sheet, ours: Sheet, theirs: Sheet) -> Merged:
    """Merge three versions of a plan.

    Where nothing is left to be put together, the text of ours, or of theirs, stays as it is;
    otherwise the text is written tidy, with the line ends of ours.
    """
    merged, conflicts = merge_trees(base.tree, ours.tree, theirs.tree)
    gaps = _gaps(base, ours, theirs)
    if conflicts:
        text = lay_out(lift_clashes(merged), gaps)
        return Merged(text.replace("\n", "\r\n") if ours.crlf else text, conflicts)
    return Merged(_text(merged, gaps, ours, theirs), [])


def _text(merged: Tree, gaps: Gaps, ours: Sheet, theirs: Sheet) -> str:
    if _alike(merged, gaps, ours):
        return ours.text
    tidy = write_tree(merged, gaps, crlf=ours.crlf)
    if tidy_sheet(ours) != ours.text and _alike(merged, gaps, theirs) and ours.crlf == theirs.crlf:
        return theirs.text
    return tidy


def _alike(merged: Tree, gaps: Gaps, sheet: Sheet) -> bool:
    """Tell whether a version already is what was merged, in the same order."""
    return lay_out(merged, gaps) == lay_out(sheet.tree, sheet.gaps)


def _gaps(base: Sheet, ours: Sheet, theirs: Sheet) -> Gaps:
    """Return before which keys an empty line stands: what one version changed is taken over."""
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
