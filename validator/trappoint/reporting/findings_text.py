"""Findings for people: for each plan the verdict, then its findings by cause; totals at the end.

The findings of one rule are a group below one heading, and the worst level comes first. A reason
(``why``) is printed once in a run. A plan with more findings than fit on a screen shows the first
of each group, and the number of the others.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_SHORT, LEVELS, worst
from trappoint.core.terminal import plural
from trappoint.reporting.wording import count_findings, name_of, verdict_of_file

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.checking.report import FileReport
    from trappoint.core.terminal import RenderOptions


def render(reports: Iterable[FileReport], look: RenderOptions) -> Iterator[str]:
    """Yield the verdict and the findings of each plan; then the totals and the caution."""
    reasons: set[str] = set()
    totals = _Totals(look.excluded)
    gap = False
    for report in reports:
        blocks = render_plan(report, look, reasons)
        if totals.files and (gap or len(blocks) > 1):
            yield "\n"
        yield "\n".join(blocks)
        gap = len(blocks) > 1
        totals.add(report)
    if gap:
        yield "\n"
    if totals.files > 1 and not look.only_some:
        yield "\n".join(look.wrap(totals.sentence(), later="  ")) + "\n"
    if totals.files:
        yield "\n".join(look.paint(line, "faint") for line in look.wrap(CAUTION_SHORT)) + "\n"


def render_plan(report: FileReport, look: RenderOptions, reasons: set[str]) -> list[str]:
    """Return the block of the verdict and one for each group of findings.

    ``reasons`` are those printed so far: they are left out, and new ones are added.
    """
    if look.most_lines is not None and _only_lacks_signals(report):
        return [_render_unsignalled(report, look)]
    blocks = [render_verdict(report, look)]
    if report.findings:
        from trappoint.reporting.findings_blocks import render_groups

        blocks += render_groups(report, look, reasons)
    return blocks


def render_verdict(report: FileReport, look: RenderOptions) -> str:
    """Return the verdict on one plan with the number of its findings, in whole lines."""
    sentence = f"{name_of(report.file)} {verdict_of_file(report)}"
    # If errors prevent a verdict, the verdict has counted them already.
    counts = count_findings(
        f for f in report.findings if report.holds is not None or f.level != "error"
    )
    if counts:
        sentence += f" {counts}."
    if report.accepted:
        sentence += f" {plural(len(report.accepted), 'finding')} accepted by the plan itself."
    if report.elsewhere:
        sentence += f" {plural(len(report.elsewhere), 'finding')} reported with another plan."
    if report.known:
        sentence += f" {plural(len(report.known), 'finding')} known from the baseline."
    lines = look.wrap(sentence, later="  ")
    return "\n".join(look.paint(line, _colour(report)) for line in lines) + "\n"


def _colour(report: FileReport) -> str:
    """Return the colour of a verdict: green only if there is nothing to mend."""
    level = worst(report.findings)
    if level == "error" or not (report.holds or report.of_store):
        return "error"
    return "warning" if level == "warning" else "good"


def _only_lacks_signals(report: FileReport) -> bool:
    """Return whether a plan fails only because it has no signals yet."""
    if not report.unsignalled or report.holds is not False or report.boards:
        return False
    return all(f.level != "error" or f.rule == "unheld-exit" for f in report.findings)


def _render_unsignalled(report: FileReport, look: RenderOptions) -> str:
    import os.path

    name = look.clean(name_of(report.file))
    lines = [look.paint(f"{name} does not hold: it has no signals yet.", "error")]
    if os.path.isfile(report.file):  # noqa: PTH113 - pathlib costs start-up
        lines.append(f"  Draft them: trappoint propose {_as_typed(name)}")
    count = plural(len(report.findings), "finding")
    lines.append(f"  {count}: run again with `--all`.")
    return "\n".join(lines) + "\n"


def _as_typed(name: str) -> str:
    """Return the name of a file as a shell needs it."""
    import os

    if os.name == "nt":
        return f'"{name}"' if " " in name else name
    import shlex

    return shlex.quote(name)


class _Totals:
    """Counts of the files of a run, their verdicts and their findings."""

    def __init__(self, excluded: int = 0) -> None:
        """``excluded``: the number of named files that the settings exclude."""
        self.files = 0
        self._excluded = excluded
        self._stores = 0
        self._verdicts: dict[bool | None, int] = {True: 0, False: 0, None: 0}
        self._levels = dict.fromkeys(LEVELS, 0)

    def add(self, report: FileReport) -> None:
        """Count one file."""
        self.files += 1
        for finding in report.findings:
            self._levels[finding.level] += 1
        if report.of_store:
            self._stores += 1
        else:
            self._verdicts[report.holds] += 1

    def sentence(self) -> str:
        """Return the totals: ``14 plans: 11 hold, 3 do not; 5 errors, 2 warnings.``"""
        parts = []
        if plans := sum(self._verdicts.values()):
            parts.append(f"{plural(plans, 'plan')}: {self._verdict_counts()}")
        if self._stores:
            parts.append(plural(self._stores, "store"))
        if self._excluded:
            parts.append(f"{self._excluded} excluded")
        levels = [plural(count, level) for level, count in self._levels.items() if count]
        parts.append(", ".join(levels[::-1]) if levels else "no findings")
        return f"{'; '.join(parts)}."

    def _verdict_counts(self) -> str:
        holds, fails, unjudged = (self._verdicts[verdict] for verdict in (True, False, None))
        counts = []
        if holds:
            counts.append(f"{holds} {'holds' if holds == 1 else 'hold'}")
        if fails:
            verb = "does not" if fails == 1 else "do not"
            counts.append(f"{fails} {verb}{'' if holds else ' hold'}")
        if unjudged:
            counts.append(f"{unjudged} cannot be judged")
        return ", ".join(counts)
