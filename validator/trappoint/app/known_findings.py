"""Findings that were there before, told from those that are new."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import reaches

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.findings import Finding, Level


_Place = tuple[str, str, str]
"""A rule, a pointer and a file."""


class Known(NamedTuple):
    """A finding of an earlier check: what is remembered of it. Lines and wording are not."""

    rule: str
    level: Level
    pointer: str
    ids: tuple[str, ...]
    file: str = ""
    """The file of a board, for a finding of a whole that stands there."""


def remember(finding: Finding) -> Known:
    """Return what is remembered of a finding."""
    return Known(finding.rule, finding.level, finding.pointer, finding.path, finding.file)


def part_known(
    findings: Iterable[Finding], before: Iterable[Known]
) -> tuple[list[Finding], list[Finding], list[Known]]:
    """Part findings into new ones and known ones; return also those of before that are gone.

    A finding is known where one of the same rule was at the same pointer before, at its level or a
    graver one. Each one of before counts once: with the same ids if there is such a one, otherwise
    with others, for what was wrong at a place and is still wrong there, though in another way, is
    no worse. A fault of the program is never known.
    """
    left: dict[_Place, list[Known]] = {}
    for each in before:
        left.setdefault((each.rule, each.pointer, each.file), []).append(each)
    new: list[Finding] = []
    known: list[Finding] = []
    waiting: list[Finding] = []
    for finding in findings:
        (known if _take(left, finding, same_ids=True) else waiting).append(finding)
    for finding in waiting:
        (known if _take(left, finding, same_ids=False) else new).append(finding)
    return new, known, [each for there in left.values() for each in there]


def _take(left: dict[_Place, list[Known]], finding: Finding, *, same_ids: bool) -> bool:
    """Strike off one that matches, and tell whether there was one."""
    if finding.rule.startswith("fault-in-"):
        return False
    there = left.get((finding.rule, finding.pointer, finding.file), [])
    for number, known in enumerate(there):
        if (known.ids == finding.path or not same_ids) and reaches(known.level, finding.level):
            del there[number]
            return True
    return False
