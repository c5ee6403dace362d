"""The base of a criss-cross merge, in which both sides have merged the same two commits before.

Git merges those two first, and uses the result as the base. If they conflict, there is no base: any
of the versions would make the next merge drop a decision of one side. So the file of the base has
the version before them as its plan, and below it a list of the undecided places. The next merge
looks there whether both sides now agree.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.merging.clashes import pick
from trappoint.merging.lists import key_of
from trappoint.merging.merge import join_sheets, read_version, write_both
from trappoint.source.reading import Unreadable
from trappoint.tidying.lines import write_inline
from trappoint.tidying.tidy import write_tree
from trappoint.tidying.tree import MISSING, Missing, SourceTree, Value, VersionClash, read_sheet

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.merging.three_way import Path, Undecided
    from trappoint.merging.versions import Part

_MARK = b"\ntrappoint: what follows is not decided\n"
"""The line above the undecided places. No plan has such a line: in a string it would be escaped."""


class Ancestor(NamedTuple):
    """A base: a version from which others were made."""

    sheet: SourceTree
    undecided: Undecided


def read_ancestor(content: bytes, name: str) -> Ancestor | Unreadable:
    """Read a base: a plan and, if git merged the base itself, the undecided places below it."""
    plan, mark, rest = content.partition(_MARK)
    sheet = read_version(plan, name)
    if isinstance(sheet, Unreadable) or not mark:
        return sheet if isinstance(sheet, Unreadable) else Ancestor(sheet, {})
    below = read_sheet(rest, name)
    if isinstance(below, Unreadable):
        return below
    return Ancestor(sheet, dict(_entries(below.tree.get("undecided"))))


def merge_ancestors(base: bytes, ours: bytes, theirs: bytes) -> bytes:
    """Return the base made from two bases, which have a base themselves.

    If one of the three cannot be read, the result cannot be read either.
    """
    if ours in (base, theirs):
        return theirs
    if theirs == base:
        return ours
    versions = [read_ancestor(content, "") for content in (base, ours, theirs)]
    known = [version for version in versions if isinstance(version, Ancestor)]
    if len(known) < len(versions):
        return write_both(ours, theirs)
    was, one, other = known
    joined = join_sheets(
        was.sheet, one.sheet, other.sheet, was.undecided, {*one.undecided, *other.undecided}
    )
    tree = pick(joined.tree, "base")
    assert isinstance(tree, dict)  # noqa: S101 - for the type checker
    text = write_tree(tree, joined.gaps, crlf=one.sheet.crlf)
    places: list[Value] = [
        {
            "at": list(path),
            "versions": [
                [] if isinstance(part, Missing) else [part]
                for side, version in ((clash.ours, one), (clash.theirs, other))
                for part in version.undecided.get(path, (side,))
            ],
        }
        for path, clash in _clashes(joined.tree, ())
    ]
    if not places:
        return text.encode()
    return text.encode() + _MARK + write_inline({"undecided": places}).encode() + b"\n"


def _entries(undecided: Part) -> Iterator[tuple[Path, tuple[Part, ...]]]:
    for entry in undecided if isinstance(undecided, list) else ():
        if isinstance(entry, dict):
            at, versions = entry.get("at"), entry.get("versions")
            if isinstance(at, list) and isinstance(versions, list) and versions:
                parts = [
                    part[0] if isinstance(part, list) and part else MISSING for part in versions
                ]
                yield tuple(map(str, at)), tuple(parts)


def _clashes(value: Value, path: Path) -> Iterator[tuple[Path, VersionClash]]:
    """Yield all places with two versions, each with its path."""
    if isinstance(value, VersionClash):
        yield path, value
    elif isinstance(value, dict):
        for key, member in value.items():
            yield from _clashes(member, (*path, key))
    elif isinstance(value, list):
        for entry in value:
            name = _name(entry, path)
            if name is not None:
                yield from _clashes(entry, (*path, name))


def _name(entry: Value, path: Path) -> str | None:
    """Return the key of an entry of a list; None if it has none."""

    if isinstance(entry, VersionClash):
        sides = (entry.base, entry.ours, entry.theirs)
        names = (_name(side, path) for side in sides if not isinstance(side, Missing))
        return next((name for name in names if name is not None), None)
    if path == ("worked_together",) and isinstance(entry, list):
        return " ".join(map(str, entry))
    key = key_of(path)
    return None if key is None else key(entry)
