"""Findings beyond the slips in a text, such as comments: they hide no other mistake."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.source.mending import MendedFiles, mend_unreadable

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint.checking.report import Report
    from trappoint.core.findings import Finding
    from trappoint.source.files import Files
    from trappoint.source.reading import Unreadable


def beyond_slips(document: Unreadable, check: Callable[[str], Report]) -> list[Finding]:
    """Return what else is wrong with a text whose JSON has nothing but slips such as comments.

    ``check`` checks the mended text. Findings on boards have their own texts.
    """
    mended = mend_unreadable(document)
    if mended is None:
        return []
    report = check(mended.text)
    own = mended.as_written(finding for finding in report.findings if not finding.file)
    return [*own, *(finding for finding in report.findings if finding.file)]


def with_mended_boards(report: Report, files: Files, check: Callable[[Files], Report]) -> Report:
    """Return a report with what else is wrong if boards have nothing but slips in their texts.

    ``check`` checks the assembled plan with boards from other files. The verdict does not change.
    """
    around = MendedFiles(files)
    again = check(around)
    if not around.mended or again.assembly is None:
        return report
    mended = {
        part.file: around.mended[part.path]
        for part in again.assembly.parts
        if part.path in around.mended
    }
    found = list(report.findings)
    for finding in again.findings:
        text = mended.get(finding.file)
        found += [finding] if text is None else text.as_written([finding])
    boards = tuple(
        board._replace(text=mended[board.file].written) if board.file in mended else board
        for board in again.assembly.boards
    )
    ordered = sorted(
        dict.fromkeys(found), key=lambda f: (f.file, f.line, f.column, f.rule, f.pointer, f.message)
    )
    return report._replace(findings=tuple(ordered), boards=boards)
