"""The one text layout of plans.

The key of each kind of thing has its own line, and so has each of its entries that fits. A longer
entry is broken: its short values share lines, its objects and lists get lines of their own.
Columns are not aligned: one long id would change all the lines around it.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, NamedTuple

from trappoint.tidying.shapes import UNKNOWN, plan_shape
from trappoint.tidying.tree import Missing, Number, VersionClash

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from trappoint.tidying.shapes import SchemaShape
    from trappoint.tidying.tree import Gaps, Tree, Value

WIDTH = 100
"""Longest line, in columns; only a single long value may exceed it."""

STEP = "  "
MARKS = ("<<<<<<< ours", "=======", ">>>>>>> theirs")
"""The lines around two versions, as git writes them."""

write_string: Callable[[str], str] = json.JSONEncoder(ensure_ascii=False).encode


def lay_out(tree: Tree | VersionClash, gaps: Gaps) -> str:
    """Return the text of a plan, with LF at the end of each line.

    ``gaps`` are the paths of the keys that get an empty line before them: keys at the top and one
    level below.
    """
    member = _Member("", (), tree, plan_shape())
    return "".join(f"{line}\n" for line in _member_lines(member, "", "", gaps))


class _Member(NamedTuple):
    """A member of an object, an entry of a list, or the whole plan."""

    prefix: str
    """The quoted key with its colon and space; empty in a list."""
    path: tuple[str, ...]
    value: Value
    shape: SchemaShape


def _member_lines(member: _Member, indent: str, comma: str, gaps: Gaps) -> Iterator[str]:
    value = member.value
    if isinstance(value, VersionClash):
        for mark, side in zip(MARKS, (value.ours, value.theirs), strict=False):
            yield mark
            if not isinstance(side, Missing):
                yield from _member_lines(member._replace(value=side), indent, comma, gaps)
        yield MARKS[-1]
        return
    if not isinstance(value, dict | list) or not value:
        yield f"{indent}{member.prefix}{_inline(value, member.shape)}{comma}"
        return
    listed = len(member.path) < 2 or _clashes(value)
    if not listed:
        line = f"{indent}{member.prefix}{_inline(value, member.shape)}{comma}"
        if len(line) <= WIDTH:
            yield line
            return
    opening, closing = "{}" if isinstance(value, dict) else "[]"
    members = _members(member)
    yield f"{indent}{member.prefix}{opening}"
    yield from _body(members, indent + STEP, gaps, fill=not listed)
    yield f"{indent}{closing}{comma}"


def _members(member: _Member) -> list[_Member]:
    """Return the members of an object or the entries of a list, in their written order."""
    value, shape, path = member.value, member.shape, member.path
    if isinstance(value, dict):
        found = [
            _Member(f"{write_string(key)}: ", (*path, key), value[key], shape.below(key))
            for key in shape.ordered(list(value))
        ]
    elif isinstance(value, list):
        inner = shape.entries or UNKNOWN
        found = [_Member("", (*path, ""), entry, inner) for entry in value]
    else:
        found = []
    return _sure_last(found)


def _sure_last(members: list[_Member]) -> list[_Member]:
    """Move a member that both versions have to the end, because no comma follows the last one."""
    for last in range(len(members) - 1, -1, -1):
        value = members[last].value
        if not isinstance(value, VersionClash) or value.sure:
            return members[:last] + members[last + 1 :] + [members[last]]
    return members


def _body(members: list[_Member], indent: str, gaps: Gaps, *, fill: bool) -> Iterator[str]:
    """Yield the lines of the members; with ``fill``, short values share a line."""
    started = ""
    for number, member in enumerate(members):
        comma = "," if number + 1 < len(members) else ""
        if number and member.path in gaps:
            yield ""
        if not fill or isinstance(member.value, dict | list | VersionClash):
            if started:
                yield started
            started = ""
            yield from _member_lines(member, indent, comma, gaps)
            continue
        piece = f"{member.prefix}{_inline(member.value, member.shape)}{comma}"
        if started and len(started) + 1 + len(piece) > WIDTH:
            yield started
            started = ""
        started = f"{started} {piece}" if started else f"{indent}{piece}"
    if started:
        yield started


def _inline(value: Value, shape: SchemaShape) -> str:
    """Return a value on one line."""
    if isinstance(value, str):
        return write_string(value)
    if isinstance(value, Number):
        return value.digits
    if isinstance(value, dict):
        inner = ", ".join(
            f"{write_string(key)}: {_inline(value[key], shape.below(key))}"
            for key in shape.ordered(list(value))
        )
        return f"{{{inner}}}"
    if isinstance(value, list):
        of_entries = shape.entries or UNKNOWN
        return f"[{', '.join(_inline(entry, of_entries) for entry in value)}]"
    return {None: "null", True: "true", False: "false"}[value]  # type: ignore[index]  # no Clash


def write_inline(value: Value) -> str:
    """Return a value on one line, as a plan has it, with its keys in their given order."""
    return _inline(value, UNKNOWN)


def _clashes(value: Value) -> bool:
    if isinstance(value, VersionClash):
        return True
    if isinstance(value, dict):
        return any(map(_clashes, value.values()))
    return isinstance(value, list) and any(map(_clashes, value))
