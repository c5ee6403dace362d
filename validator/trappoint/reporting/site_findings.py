"""The findings of one plan as parts of a page, grouped by cause as in the text of a check."""

from __future__ import annotations

from html import escape
from itertools import groupby
from typing import TYPE_CHECKING

from trappoint.core.quoting import visible
from trappoint.core.terminal import RenderOptions
from trappoint.reporting.excerpt import SourceLines, excerpt
from trappoint.reporting.findings_blocks import by_cause, cause_of, parts_of_why

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from trappoint.checking.report import FileReport
    from trappoint.core.findings import Finding

NARROW = RenderOptions(width=42)
"""The options for the source line of a finding: it fits on a phone."""


def findings_html(report: FileReport, link: Callable[[str], str]) -> str:
    """Return the findings as HTML. ``link`` returns the name of a file, as a link if it has a page.

    A reason is written once, and neighbours with one fix have it once.
    """
    reasons: set[str] = set()
    lines: dict[str, SourceLines] = {}
    parts = []
    for (level, rule), group in groupby(by_cause(report.findings), key=cause_of):
        parts.append(f'<h3><span class="level {level}">{level}</span> {escape(rule)}</h3>')
        found = list(group)
        for finding, following in zip(found, [*found[1:], None], strict=True):
            if finding.file not in lines:
                lines[finding.file] = SourceLines(report.text_of(finding))
            line = lines[finding.file].line(finding.line)
            last = following is None or following.fix != finding.fix
            parts.append(_finding(finding, line, link(finding.file), reasons, with_fix=last))
    return "\n".join(parts)


def _finding(
    finding: Finding, line: str | None, file: str, reasons: set[str], *, with_fix: bool
) -> str:
    where = f"line {finding.line}, column {finding.column}"
    rows = [f'<p class="message">{_text(finding.message)}</p>']
    if line is not None and line.strip():
        source, mark = excerpt(line, finding.column, f"{finding.line:>4}  ", NARROW)
        rows.append(
            f'<pre tabindex="0">{escape(source)}\n'
            f'<span class="source-mark" aria-hidden="true">{escape(mark)}</span></pre>'
        )
    why, how = parts_of_why(finding)
    if why and why not in reasons:
        rows.append(f"<p><b>Why:</b> {_text(why)}</p>")
        reasons.add(why)
    if how:
        rows.append(f"<p><b>How:</b> {_text(how[:1].upper() + how[1:])}</p>")
    if finding.fix and with_fix:
        rows.append(f"<p><b>Fix:</b> {_text(finding.fix)}</p>")
    place = f"{file}, {where}" if file else where
    return f'<div class="finding">\n<p class="file">{place}</p>\n' + "\n".join(rows) + "\n</div>"


def elsewhere_html(findings: Iterable[Finding], link: Callable[[str], str]) -> str:
    """Return the findings that are reported with boards, as a list with links to their pages."""
    items = "".join(
        f"<li>{finding.level}, {link(finding.file)}: {_text(finding.message)}</li>\n"
        for finding in findings
    )
    return f"<h3>Findings of its boards</h3>\n<ul>\n{items}</ul>" if items else ""


def _text(text: str) -> str:
    return escape(visible(text))
