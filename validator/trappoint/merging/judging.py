"""Whether what was merged still is a plan that holds, as each of the two versions was one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.checking.check import check

if TYPE_CHECKING:
    from trappoint.checking.report import FileReport
    from trappoint.merging.boards import Sides
    from trappoint.model.settings import Settings


def judge(
    merged: str, ours: str, theirs: str, name: str, settings: Settings, files: Sides
) -> FileReport:
    """Check what was merged, and report only what is wrong with it and with neither version.

    What one of them had wrong already is not the merge's doing. A finding is known again as when
    plans are compared: by its rule and its place, also where ids or numbers in lists have changed.
    ``files`` are those around each of the three.
    """
    report = check(merged.encode(), name=name, settings=settings, files=files.merged)
    errors = tuple(finding for finding in report.findings if finding.level == "error")
    if errors:
        from trappoint.comparing.comparison import new_findings
        from trappoint.comparing.sides import read_side

        now = read_side(merged, name, settings, files.merged)
        for text, around in ((ours, files.ours), (theirs, files.theirs)):
            new = new_findings(read_side(text, name, settings, around), now)
            errors = tuple(finding for finding in errors if finding in new)
    return report.without_facts()._replace(findings=errors, accepted=())
