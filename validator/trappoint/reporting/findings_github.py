"""Findings as annotations: workflow commands that several forges' build logs understand.

Each is one line, ``::error file=NAME,line=1,col=2,endColumn=5,title=RULE::MESSAGE``, where ``%``
and line ends are written as percent codes, and in what stands before the message also ``:`` and
``,``. Source: the published syntax of workflow commands, unconfirmed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_SHORT
from trappoint.reporting.text_spans import Spots
from trappoint.reporting.wording import name_of, verdict_of_file

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.checking.report import FileReport
    from trappoint.core.findings import Finding
    from trappoint.core.terminal import RenderOptions

COMMANDS = {"error": "error", "warning": "warning", "note": "notice"}
"""From the level of a finding to the command."""


def render(reports: Iterable[FileReport], look: RenderOptions) -> Iterator[str]:
    """Yield the annotations of each plan and its verdict; after the last one the caution."""
    empty = True
    for report in reports:
        empty = False
        spots: dict[str, Spots] = {}
        for finding in report.findings:
            if finding.file not in spots:
                spots[finding.file] = Spots(report.text_of(finding))
            yield _annotation(finding.file or report.file, finding, spots[finding.file])
        # With no name of a file may the line look like a command.
        yield f"verdict: {look.clean(name_of(report.file))} {verdict_of_file(report)}\n"
    if not empty:
        yield f"{CAUTION_SHORT}\n"


def _annotation(file: str, finding: Finding, spots: Spots) -> str:
    spot = spots.spot(finding.line, finding.column)
    parts = {
        "file": _clean(file),
        "line": str(spot.line),
        "col": str(spot.column),
        "endColumn": str(spot.end),
        "title": finding.rule,
    }
    if file == "-":
        del parts["file"]
    if spot.end <= spot.column:
        del parts["endColumn"]
    named = ",".join(f"{key}={escape_property(value)}" for key, value in parts.items())
    told = [finding.message, finding.why, f"What to do: {finding.fix}" if finding.fix else ""]
    message = "\n".join(_clean(part) for part in told if part)
    return f"::{COMMANDS[finding.level]} {named}::{escape_message(message)}\n"


def _clean(text: str) -> str:
    """Write what steers terminals as escapes; line ends are left to the percent codes."""
    kept = (char if char in "\r\n" or char.isprintable() else ascii(char)[1:-1] for char in text)
    return "".join(kept)


def escape_message(text: str) -> str:
    """Return a text as it may stand behind the second pair of colons."""
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def escape_property(text: str) -> str:
    """Return a text as it may stand in ``key=value``."""
    return escape_message(text).replace(":", "%3A").replace(",", "%2C")
