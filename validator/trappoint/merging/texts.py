"""Merge three versions of a plan as they are in files: bytes, that may be no plan at all."""

from __future__ import annotations

from typing import NamedTuple

from trappoint.merging.ancestors import Ancestor, read_ancestor
from trappoint.merging.merge import EMPTY, merge_sheets, read_version, write_both
from trappoint.source.reading import Unreadable


class Versions(NamedTuple):
    """The bytes of three versions of a plan; a version without the file is empty."""

    base: bytes
    ours: bytes
    theirs: bytes


class MergedVersions(NamedTuple):
    """What a merge makes of three versions."""

    content: bytes
    conflicts: tuple[str, ...] = ()
    """A sentence for each conflict; the content has both versions of each."""
    marked: bool = True
    """Whether the content has marks around the conflicts."""
    whole: bool = False
    """Whether there is one conflict, about the whole text."""
    new: bool = False
    """Whether the content is a plan that may differ from ours and from theirs."""


def merge_versions(versions: Versions, name: str) -> MergedVersions:
    """Merge three versions of a plan, named ``name`` in sentences. Raises nothing."""
    base = read_ancestor(versions.base, name)
    ours, theirs = (read_version(content, name) for content in versions[1:])
    if isinstance(ours, Unreadable) or isinstance(theirs, Unreadable):
        return _merge_whole(versions, name)
    said = []
    if isinstance(base, Unreadable):
        said.append(
            "the base version cannot be read. A thing that only one version has may be "
            "new, or the other may have removed it: check each."
        )
        base = Ancestor(EMPTY, {})
    merged = merge_sheets(base.sheet, ours, theirs, base.undecided)
    said += [conflict.sentence() for conflict in merged.conflicts]
    new = merged.text not in (ours.text, theirs.text) and bool(merged.text.strip())
    content = merged.text.encode()
    return MergedVersions(content, tuple(said), marked=bool(merged.conflicts), new=new)


def _merge_whole(versions: Versions, name: str) -> MergedVersions:
    """Merge versions that cannot be read: as a whole, or not at all."""
    base, ours, theirs = versions
    if ours in (base, theirs):
        return MergedVersions(theirs)
    if theirs == base:
        return MergedVersions(ours)
    said = []
    for side, content in (("ours", ours), ("theirs", theirs)):
        sheet = read_version(content, name)
        if isinstance(sheet, Unreadable):
            first = sheet.findings[0]
            said.append(
                f"{side} cannot be read (line {first.line}, column {first.column}: "
                f"{first.message}), so both versions are kept whole."
            )
    return MergedVersions(write_both(ours, theirs), tuple(said), whole=True)
