"""Findings split into new ones and those that were there before."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import reaches

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.findings import Finding, Level


_Place = tuple[str, str, str]
"""A rule, a pointer and a file."""


class Known(NamedTuple):
    """The remembered part of a finding of an earlier check, without its line and wording."""

    rule: str
    level: Level
    pointer: str
    ids: tuple[str, ...]
    file: str = ""
    """The file of the board that has the value; empty for the plan itself."""


def remember(finding: Finding) -> Known:
    """Return the remembered part of a finding."""
    return Known(finding.rule, finding.level, finding.pointer, finding.path, finding.file)


def part_known(
    findings: Iterable[Finding], before: Iterable[Known]
) -> tuple[list[Finding], list[Finding], list[Known]]:
    """Return the new findings, the known ones, and the entries of ``before`` that no longer occur.

    A finding is known if ``before`` has one of the same rule at the same pointer, at its level or a
    higher one. Each entry counts once: preferably for a finding with the same ids, otherwise for
    one with other ids, since a place that is wrong in another way is no worse than before. An
    internal error is never known.
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
    """Remove one entry that matches, and return whether there was one."""
    if finding.rule.startswith("fault-in-"):
        return False
    there = left.get((finding.rule, finding.pointer, finding.file), [])
    for number, known in enumerate(there):
        if (known.ids == finding.path or not same_ids) and reaches(known.level, finding.level):
            del there[number]
            return True
    return False
