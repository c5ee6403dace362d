"""Names of files for a forge: relative to the top of the repository."""

from __future__ import annotations

import os
import os.path
from typing import TYPE_CHECKING

from trappoint.app.discovery import STANDARD_INPUT
from trappoint.source.opening import repository_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.checking.report import FileReport
    from trappoint.core.findings import Finding


def named_from_top(reports: Iterable[FileReport]) -> Iterator[FileReport]:
    """Yield the reports with the file names that a forge uses.

    They are relative to the top of the repository of the current folder, with / between folders;
    outside a repository, to the current folder. A file elsewhere has its full path.
    """
    top = repository_of(".") or os.path.abspath(".")  # noqa: PTH100

    def renamed(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
        return tuple(
            found._replace(file=_name_from(top, found.file)) if found.file else found
            for found in findings
        )

    for report in reports:
        yield report._replace(
            file=_name_from(top, report.file),
            findings=renamed(report.findings),
            accepted=renamed(report.accepted),
            known=renamed(report.known),
            elsewhere=renamed(report.elsewhere),
            boards=tuple(
                board._replace(file=_name_from(top, board.file)) for board in report.boards
            ),
        )


def _name_from(top: str, file: str) -> str:
    if file == STANDARD_INPUT:
        return file
    path = os.path.abspath(file)  # noqa: PTH100
    folder, name = os.path.split(path)
    # The second way is for a folder that a link leads to.
    ways = ((top, path), (os.path.realpath(top), os.path.join(os.path.realpath(folder), name)))  # noqa: PTH118
    for start, way in ways:
        below = start.rstrip(os.sep) + os.sep
        if os.path.normcase(way).startswith(os.path.normcase(below)):
            return way[len(below) :].replace(os.sep, "/")
    return path
