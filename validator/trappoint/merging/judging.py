"""Whether what was merged still is a plan that holds, as each of the two versions was one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from trappoint.checking import Report, check

if TYPE_CHECKING:
    from trappoint.merging.boards import Sides
    from trappoint.settings import Settings


def judge(
    merged: str, ours: str, theirs: str, name: str, settings: Settings, files: Sides
) -> Report:
    """Check what was merged, and report only what is wrong with it and with neither version.

    What one of them had wrong already is not the merge's doing. A finding is the same one where
    it is of the same rule at the same place. ``files`` are those around each of the three.
    """
    report = check(merged.encode(), name=name, settings=settings, files=files.merged)
    errors = tuple(finding for finding in report.findings if finding.level == "error")
    if errors:
        known = {
            (finding.rule, finding.place)
            for side, around in ((ours, files.ours), (theirs, files.theirs))
            for finding in check(side.encode(), name=name, settings=settings, files=around).findings
            if finding.level == "error"
        }
        errors = tuple(finding for finding in errors if (finding.rule, finding.place) not in known)
    return replace(report, findings=errors, accepted=(), layout=None, facts=None, assembly=None)
