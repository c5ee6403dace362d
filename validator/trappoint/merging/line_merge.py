"""Merge three versions of a text by lines, for files that are no plans."""

from __future__ import annotations

from difflib import SequenceMatcher
from typing import TYPE_CHECKING, NamedTuple

from trappoint.tidying.lines import MARKS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Lines = list[str]


class LineMerge(NamedTuple):
    """A text merged by lines."""

    text: str
    conflicts: tuple[int, ...]
    """The lines in the merged text at which conflicts begin; 1 is the first."""


def merge_lines(base: str, ours: str, theirs: str) -> LineMerge:
    """Merge two versions of a text, made from the same base.

    A line that both changed in different ways is a conflict, and so are changes that touch: the
    text then has both versions between the marks that git uses.
    """
    versions = [text.splitlines(keepends=True) for text in (base, ours, theirs)]
    merged: Lines = []
    conflicts: list[int] = []
    for was, one, other in _chunks(*versions):
        if one in (was, other):
            merged += other
        elif other == was:
            merged += one
        else:
            conflicts.append(len(merged) + 1)
            begin, between, end = (f"{mark}\n" for mark in MARKS)
            merged += [begin, *_ended(one), between, *_ended(other), end]
    return LineMerge("".join(merged), tuple(conflicts))


def _ended(lines: Lines) -> Lines:
    """Return lines that all have an end."""
    if not lines or lines[-1].endswith(("\n", "\r")):
        return lines
    return [*lines[:-1], f"{lines[-1]}\n"]


def _chunks(base: Lines, ours: Lines, theirs: Lines) -> Iterator[tuple[Lines, Lines, Lines]]:
    """Yield the texts in parts: those that are the same in all three, and those between."""
    was = one = other = 0
    for start, at, there, length in _common(base, ours, theirs):
        yield base[was:start], ours[one:at], theirs[other:there]
        was, one, other = start + length, at + length, there + length
        yield (base[start:was],) * 3


def _common(base: Lines, ours: Lines, theirs: Lines) -> Iterator[tuple[int, int, int, int]]:
    """Yield the runs of lines that all three have: the three places, and the length.

    The last one is empty, at the ends of the texts.
    """
    one, other = _matching(base, ours), _matching(base, theirs)
    here = there = 0
    while here < len(one) and there < len(other):
        start = max(one[here][0], other[there][0])
        ends = (one[here][0] + one[here][2], other[there][0] + other[there][2])
        if start < min(ends):
            at = one[here][1] + start - one[here][0]
            yield start, at, other[there][1] + start - other[there][0], min(ends) - start
        if ends[0] <= ends[1]:
            here += 1
        else:
            there += 1
    yield len(base), len(ours), len(theirs), 0


def _matching(base: Lines, version: Lines) -> Sequence[tuple[int, int, int]]:
    return SequenceMatcher(None, base, version, autojunk=False).get_matching_blocks()[:-1]
