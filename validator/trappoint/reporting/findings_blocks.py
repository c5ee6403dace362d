"""The findings of one plan for people, grouped by cause."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from trappoint.core.findings import HOW_THEY_MEET, LEVELS
from trappoint.core.terminal import plural
from trappoint.reporting.excerpt import SourceLines, excerpt
from trappoint.reporting.wording import name_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from trappoint.checking.report import FileReport
    from trappoint.core.findings import Finding
    from trappoint.core.terminal import RenderOptions


def render_groups(report: FileReport, look: RenderOptions, reasons: set[str]) -> list[str]:
    """Return a block for each group of findings, and one line for those left out.

    ``reasons`` are those printed so far: they are left out, and new ones are added.
    """
    findings = by_cause(report.findings)
    page = _Page(report, look)
    shown = findings
    if look.most_lines is not None:
        shown = page.first_screen(findings, look.most_lines, set(reasons))
    blocks = [page.group(list(group), reasons) for _, group in groupby(shown, key=cause_of)]
    if len(shown) < len(findings):
        more = plural(len(findings) - len(shown), "more finding")
        blocks.append(f"And {more}: run again with `--all`.\n")
    return blocks


def cause_of(finding: Finding) -> tuple[str, str]:
    """Return the level and the rule, which findings of one group share."""
    return finding.level, finding.rule


def by_cause(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings with the worst level first, those of one rule together."""
    found = list(findings)
    first: dict[tuple[str, str], int] = {}
    for number, finding in enumerate(found):
        first.setdefault(cause_of(finding), number)
    return sorted(found, key=lambda f: (-LEVELS.index(f.level), first[cause_of(f)]))


class _Page:
    """The findings of one plan, as lines."""

    def __init__(self, report: FileReport, look: RenderOptions) -> None:
        self._report = report
        self._look = look
        self._lines: dict[str, SourceLines] = {}

    def group(self, group: Sequence[Finding], reasons: set[str]) -> str:
        """Return the heading of a group and its findings; neighbours with one fix have it once."""
        look = self._look
        level, rule = cause_of(group[0])
        rows = [f"{look.paint(level, level)} {look.paint(rule, 'strong')}"]
        for number, finding in enumerate(group):
            rows.append(_render_place(finding.file or self._report.file, finding, look))
            last = number + 1 == len(group) or group[number + 1].fix != finding.fix
            rows += self._body(finding, reasons, with_fix=last)
        return "\n".join(rows) + "\n"

    def first_screen(
        self, findings: list[Finding], most_lines: int, reasons: set[str]
    ) -> list[Finding]:
        """Return the findings that fit: the first of each group, then the others in order."""
        seen: set[tuple[str, str]] = set()
        firsts: list[int] = []
        others: list[int] = []
        for number, finding in enumerate(findings):
            (others if cause_of(finding) in seen else firsts).append(number)
            seen.add(cause_of(finding))
        shown: list[int] = []
        left = most_lines
        for number in firsts + others:
            body = self._body(findings[number], set(reasons), with_fix=True)
            # A place; for the first also an empty line and a heading.
            size = len(body) + (3 if number in firsts else 1)
            if size <= left or not shown:
                shown.append(number)
                left -= size
                reasons.add(parts_of_why(findings[number])[0])
            elif number in others:
                break
        return [findings[number] for number in sorted(shown)]

    def _body(self, finding: Finding, reasons: set[str], *, with_fix: bool) -> list[str]:
        if finding.file not in self._lines:
            self._lines[finding.file] = SourceLines(self._report.text_of(finding))
        return _body(finding, self._lines[finding.file], self._look, reasons, with_fix=with_fix)


def render_finding(file: str, finding: Finding, lines: SourceLines, look: RenderOptions) -> str:
    """Return the block of one finding that is printed alone, in whole lines."""
    cause = f"{look.paint(finding.level, finding.level)} {look.paint(finding.rule, 'strong')}"
    head = f"{_render_place(file, finding, look)} {cause}"
    return "\n".join([head, *_body(finding, lines, look, set(), with_fix=True)]) + "\n"


def _render_place(file: str, finding: Finding, look: RenderOptions) -> str:
    return look.paint(f"{look.clean(name_of(file))}:{finding.line}:{finding.column}", "strong")


def _body(
    finding: Finding, lines: SourceLines, look: RenderOptions, reasons: set[str], *, with_fix: bool
) -> list[str]:
    """Return the lines below the place. A reason in ``reasons`` is left out, a new one added."""
    rows = look.wrap(finding.message, "  ")
    line = lines.line(finding.line)
    if line is not None and line.strip():
        source, mark = excerpt(line, finding.column, f"{finding.line:>6}  ", look)
        rows += [source, look.paint(mark, finding.level)]
    why, how = parts_of_why(finding)
    if why and why not in reasons:
        rows += look.wrap(why, "  why  ")
        reasons.add(why)
    if how:
        rows += look.wrap(how[:1].upper() + how[1:], "  how  ")
    if finding.fix and with_fix:
        rows += look.wrap(finding.fix, "  fix  ")
    return rows


def parts_of_why(finding: Finding) -> tuple[str, str]:
    """Return the reason of a finding, the same for all of its rule, and its movement or ""."""
    why, _, how = finding.why.partition(HOW_THEY_MEET)
    return why.strip(), how.strip()
