"""Check a merged plan for errors that neither version has."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.checking.check import check

if TYPE_CHECKING:
    from trappoint.checking.report import FileReport
    from trappoint.merging.boards import Sides
    from trappoint.model.settings import Settings


def judge(
    merged: bytes, ours: bytes, theirs: bytes, name: str, settings: Settings, files: Sides
) -> FileReport:
    """Return a report with only the errors of the merged plan that neither version has.

    The merge did not make an error that a version already had. A finding is recognised as in a
    comparison: by its rule and its place, even if ids or positions in lists changed. ``files`` are
    the files around each of the three versions.
    """

    report = check(merged, name=name, settings=settings, files=files.merged)
    errors = tuple(finding for finding in report.findings if finding.level == "error")
    if errors:
        from trappoint.comparing.comparison import new_findings
        from trappoint.comparing.sides import read_side

        now = read_side(merged, name, settings, files.merged)
        for text, around in ((ours, files.ours), (theirs, files.theirs)):
            new = new_findings(read_side(text, name, settings, around), now)
            errors = tuple(finding for finding in errors if finding in new)
    return report.without_facts()._replace(findings=errors, accepted=())
