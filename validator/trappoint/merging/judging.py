"""Whether what was merged still is a plan that holds, as each of the two versions was one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.checking import Report, check

if TYPE_CHECKING:
    from trappoint.settings import Settings


def judge(merged: str, ours: str, theirs: str, name: str, settings: Settings) -> Report:
    """Check what was merged, and report only what is wrong with it and with neither version.

    What one of them had wrong already is not the merge's doing. A finding is the same one where
    it is of the same rule at the same place.
    """
    report = check(merged.encode(), name=name, settings=settings)
    errors = tuple(finding for finding in report.findings if finding.level == "error")
    if errors:
        known = {
            (finding.rule, finding.pointer)
            for side in (ours, theirs)
            for finding in check(side.encode(), name=name, settings=settings).findings
            if finding.level == "error"
        }
        errors = tuple(
            finding for finding in errors if (finding.rule, finding.pointer) not in known
        )
    return Report(name, report.holds, errors, text=report.text, fault=report.fault)
