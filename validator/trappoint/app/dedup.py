"""Findings of boards, reported once even if several assembled plans have them."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from trappoint.app.discovery import PlanSource
from trappoint.app.load import Overrides, Unusable, check_alone
from trappoint.core.findings import reaches

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from trappoint.app.discovery import Surroundings
    from trappoint.checking.report import FileReport
    from trappoint.core.findings import Finding, Level

Place = tuple[str, str]
"""A rule and a pointer."""


def without_those_of_boards(
    report: FileReport, around: Surroundings | None, overrides: Overrides
) -> FileReport:
    """Drop findings already reported for a board alone from the report on an assembled plan.

    A finding is the same if the board alone has one of the same rule at the same place, at its
    level or a higher one. ``around`` is where boards are read from; None for the disk.
    """

    def is_told(finding: Finding) -> bool:
        return is_known(finding, found_alone(finding.file, around, overrides))

    return _leave_out(report, is_told)


def is_known(finding: Finding, alone: Mapping[Place, Level]) -> bool:
    """Return whether a board alone has a finding of the assembled plan, at its level or higher."""
    level = alone.get((finding.rule, finding.pointer))
    return level is not None and reaches(level, finding.level)


def levels_by_place(findings: Iterable[Finding]) -> dict[Place, Level]:
    """Return the highest level found at each place."""
    found: dict[Place, Level] = {}
    for finding in findings:
        place = finding.rule, finding.pointer
        if reaches(finding.level, found.get(place, "note")):
            found[place] = finding.level
    return found


def _leave_out(report: FileReport, is_told: Callable[[Finding], bool]) -> FileReport:
    kept: list[Finding] = []
    told: list[Finding] = []
    for finding in report.findings:
        (told if finding.file and is_told(finding) else kept).append(finding)
    if not told:
        return report
    return report._replace(findings=tuple(kept), elsewhere=(*report.elsewhere, *told))


@cache
def found_alone(file: str, around: Surroundings | None, overrides: Overrides) -> dict[Place, Level]:
    """Return the findings of a plan alone: from rule and place to the highest level."""
    checked = check_alone(PlanSource(file, around=around), overrides)
    findings = () if isinstance(checked, Unusable) else checked.findings
    return levels_by_place(finding for finding in findings if not finding.file)


class ToldAlready:
    """The findings of boards that were reported so far, with any assembled plan."""

    def __init__(self) -> None:
        self._told: set[tuple[str, str, str, str]] = set()

    def leave_out(self, report: FileReport) -> FileReport:
        """Drop findings that another assembled plan has word for word; remember the rest."""
        return _leave_out(report, lambda finding: self.is_told(finding.file, finding))

    def is_told(self, file: str, finding: Finding) -> bool:
        """Return whether an earlier assembled plan had this finding word for word; remember it."""
        key = file, finding.rule, finding.pointer, finding.message
        if key in self._told:
            return True
        self._told.add(key)
        return False
