"""Findings for people: a block each, then the verdict on each plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_SHORT
from trappoint.core.terminal import plural
from trappoint.reporting.wording import count_findings, name_of, verdict_of_file

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.checking.report import FileReport
    from trappoint.core.findings import Finding
    from trappoint.core.terminal import RenderOptions
    from trappoint.reporting.excerpt import SourceLines


def render(reports: Iterable[FileReport], look: RenderOptions) -> Iterator[str]:
    """Yield the blocks of each plan and its verdict; after the last one the caution."""
    empty = True
    for report in reports:
        empty = False
        if report.findings:
            yield from _blocks(report, look)
        yield render_verdict(report, look)
    if not empty:
        yield "\n".join(look.paint(line, "faint") for line in look.wrap(CAUTION_SHORT)) + "\n"


def _blocks(report: FileReport, look: RenderOptions) -> Iterator[str]:
    from trappoint.reporting.excerpt import SourceLines

    lines: dict[str, SourceLines] = {}
    for finding in report.findings:
        if finding.file not in lines:
            lines[finding.file] = SourceLines(report.text_of(finding))
        file = finding.file or report.file
        yield render_finding(file, finding, lines[finding.file], look) + "\n"


def render_finding(file: str, finding: Finding, lines: SourceLines, look: RenderOptions) -> str:
    """Return the block of one finding, in whole lines."""
    place = f"{look.clean(name_of(file))}:{finding.line}:{finding.column}"
    parts = [
        look.paint(place, "strong"),
        look.paint(finding.level, finding.level),
        look.paint(finding.rule, "strong"),
    ]
    block = [" ".join(parts), *look.wrap(finding.message, "  ")]
    from trappoint.reporting.excerpt import excerpt

    line = lines.line(finding.line)
    if line is not None and line.strip():
        before = f"{finding.line:>6}  "
        source, mark = excerpt(line, finding.column, before, look)
        block += [source, look.paint(mark, finding.level)]
    if finding.why:
        block += look.wrap(finding.why, "  why  ")
    if finding.fix:
        block += look.wrap(finding.fix, "  fix  ")
    return "\n".join(block) + "\n"


def render_verdict(report: FileReport, look: RenderOptions) -> str:
    """Return the verdict on one plan, in whole lines."""
    kind = "good" if report.holds or (report.of_store and not report.findings) else "error"
    sentence = f"{name_of(report.file)} {verdict_of_file(report)}"
    # Where errors stand in the way, the verdict has counted them already.
    counts = count_findings(
        f for f in report.findings if report.holds is not None or f.level != "error"
    )
    if counts:
        sentence += f" {counts}."
    if report.accepted:
        sentence += f" {plural(len(report.accepted), 'finding')} accepted by the plan itself."
    if report.elsewhere:
        sentence += f" {plural(len(report.elsewhere), 'finding')} told with another plan."
    if report.known:
        sentence += f" {plural(len(report.known), 'finding')} known from the baseline."
    lines = look.wrap(sentence, later="  ")
    return "\n".join(look.paint(line, kind) for line in lines) + "\n"
