"""The quick fixes of a report: for its findings, mended texts or steps that mend them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.fixing.step_fixes import steps_for
from trappoint.fixing.text_fixes import apply_edits, fix_of, may_have_fix
from trappoint.source.text_positions import TextPlaces
from trappoint.source.tolerant_json import read_tolerantly

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.checking.report import Report

MAX_FIXES = 50
"""Most quick fixes of one report."""

MAX_CHARACTERS = 2_000_000
"""Most characters of all mended texts of one report."""


class QuickFix(NamedTuple):
    """What mends one finding at once: a step of laying, or a text."""

    finding: int
    """The index of the finding in the report."""
    label: str
    """What it does, as an imperative: ``Insert a comma``."""
    step: dict[str, object] | None = None
    text: str | None = None
    """The whole text of the mended plan; None for a step."""


def quick_fixes(report: Report) -> list[QuickFix]:
    """Return the quick fixes of a report, in the order of its findings.

    Findings in the plans of boards have none: they are mended there.
    """
    found: list[QuickFix] = []
    characters = 0
    for fix in sorted([*_in_the_text(report), *_by_steps(report)], key=lambda fix: fix.finding):
        characters += len(fix.text or "")
        if len(found) == MAX_FIXES or characters > MAX_CHARACTERS:
            break
        found.append(fix)
    return found


def _in_the_text(report: Report) -> Iterator[QuickFix]:
    text = report.text or ""
    own = [(n, f) for n, f in enumerate(report.findings) if not f.file and may_have_fix(f)]
    if not own:
        return
    root, places = read_tolerantly(text), TextPlaces(text)
    for number, finding in own:
        fix = fix_of(root, places, finding)
        if fix is not None:
            yield QuickFix(number, fix.title, text=apply_edits(text, fix.edits))


def _by_steps(report: Report) -> Iterator[QuickFix]:
    """Yield the steps for findings without a fix in the text."""
    layout = report.layout
    for number, finding in enumerate(report.findings):
        if layout is None or finding.file or may_have_fix(finding):
            continue
        for fix in steps_for(layout, finding):
            yield QuickFix(number, fix.label, step=fix.step)
