"""Builds a site: the pages of every plan of a folder, and their index.

The result depends on the plans, their settings and their history alone, so the same folder gives
the same bytes in every clone.
"""

from __future__ import annotations

import os
import os.path
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.batch import each_of
from trappoint.app.dedup import without_those_of_boards
from trappoint.app.load import NO_OVERRIDES, settings_for
from trappoint.checking.check import check
from trappoint.comparing.history import history_of
from trappoint.core.quoting import visible
from trappoint.core.terminal import RenderOptions
from trappoint.reporting.badge import badge
from trappoint.reporting.site_pages import (
    BADGE,
    DIAGRAM,
    ICON,
    PAGE,
    SHEETS,
    PlanDetails,
    PlanEntry,
    plan_page,
    with_way_back,
)
from trappoint.reporting.wording import count_findings, title_of, verdict_of_file
from trappoint.source.files import files_beside, without_ending
from trappoint.source.reading import UnusableFile

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from trappoint.app.discovery import PlanSource
    from trappoint.checking.report import FileReport, Report
    from trappoint.core.findings import Finding

MARKER = "trappoint-site.json"
"""The file in which a site lists its own files."""

FILES = (PAGE, BADGE, *SHEETS)
"""The names of all files that the folder of a plan may have."""

_RESERVED = {name.casefold() for name in (*FILES, ICON, MARKER)}


class SitePlans(NamedTuple):
    """The plans of a site."""

    folder: str
    """The folder of the plans."""
    pages: Mapping[str, str]
    """From each plan, named from that folder, to the folder of its pages, from the top of the
    site. Both have / between folders."""


class BuiltPlan(NamedTuple):
    """The pages of one plan."""

    entry: PlanEntry
    files: Mapping[str, bytes]
    """From each name in the folder of the plan to the content."""
    fault: str | None = None
    """The internal error; None if there was none."""


def place_pages(folder: str, sources: Sequence[PlanSource]) -> SitePlans:
    """Choose the folders of the pages: they follow the names of the plans.

    An underscore keeps a folder apart from another one and from the files of the site, also on a
    disk that does not tell capitals from small letters.
    """
    pages: dict[str, str] = {}
    taken: set[str] = set()
    for source in sources:
        name = _named_from(folder, source.name)
        *above, own = name.split("/")
        parts = [_apart(part) for part in (*above, without_ending(own))]
        while "/".join(parts).casefold() in taken:
            parts[-1] += "_"
        pages[name] = "/".join(parts)
        taken.add(pages[name].casefold())
    return SitePlans(folder, pages)


def _apart(part: str) -> str:
    return f"{part}_" if not part or part.casefold() in _RESERVED else part


def _named_from(folder: str, name: str) -> str:
    return os.path.relpath(name, folder).replace(os.sep, "/")


def build_each(plans: SitePlans, sources: Sequence[PlanSource], jobs: int) -> Iterator[BuiltPlan]:
    """Build the pages of each plan, ``jobs`` at a time, and yield them in order."""
    return each_of(sources, partial(build_plan, plans=plans), jobs)


def build_plan(source: PlanSource, plans: SitePlans) -> BuiltPlan:
    """Build the pages of one plan. Nothing is raised: a page reports what went wrong."""
    file = _named_from(plans.folder, source.name)
    plain = PlanEntry(file, plans.pages[file], file.rpartition("/")[2], None)
    try:
        return _build(source, plans, plain)
    except UnusableFile as error:
        said = str(error).replace(visible(source.name), visible(file))
        return _without_sheets(plain, PlanDetails(f"This plan cannot be judged. {said}"), plans)
    except Exception as error:  # the other plans get their pages all the same
        what = f"{type(error).__name__}: {error}"
        said = f"the program failed ({what}). This is a fault of the program, not of the plan."
        details = PlanDetails(f"This plan cannot be judged: {said} Please report it.")
        return _without_sheets(plain, details, plans)._replace(fault=what)


def _build(source: PlanSource, plans: SitePlans, plain: PlanEntry) -> BuiltPlan:
    name, content = source.name, source.read()
    settings = settings_for(source, NO_OVERRIDES)
    report = check(content, name=name, settings=settings, files=files_beside(name))
    light = report.for_printing()
    if any(finding.file for finding in light.findings):
        light = without_those_of_boards(light, None, NO_OVERRIDES)
    history = history_of(name, [board.file for board in report.boards], content, settings)
    light = _renamed(light, plans.folder)
    report = report._replace(file=plain.file)
    sheets = _sheets(report)
    entry = plain._replace(
        title=title_of(report) if report.layout and report.layout.title else plain.title,
        holds=light.holds,
        counts=count_findings(light.findings),
        seconds=None if history is None else history.seconds,
        sheets=tuple(sheets),
    )
    details = PlanDetails(f"This plan {verdict_of_file(light)}", light, history)
    built = _without_sheets(entry, details, plans)
    framed = {
        sheet: with_way_back(text, entry, sheet) if sheet.endswith(".html") else text
        for sheet, text in sheets.items()
    }
    files = {**built.files, **{sheet: text.encode() for sheet, text in framed.items()}}
    return BuiltPlan(entry, files, report.fault)


def _without_sheets(entry: PlanEntry, details: PlanDetails, plans: SitePlans) -> BuiltPlan:
    page = plan_page(entry, details, plans.pages)
    return BuiltPlan(entry, {PAGE: page.encode("ascii"), BADGE: badge(entry.holds).encode("ascii")})


def _renamed(report: FileReport, folder: str) -> FileReport:
    """Return a report whose files are named from the folder of the plans."""

    def renamed(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
        return tuple(
            found._replace(file=_named_from(folder, found.file)) if found.file else found
            for found in findings
        )

    return report._replace(
        file=_named_from(folder, report.file),
        findings=renamed(report.findings),
        accepted=renamed(report.accepted),
        elsewhere=renamed(report.elsewhere),
        boards=tuple(
            board._replace(file=_named_from(folder, board.file)) for board in report.boards
        ),
    )


def _sheets(report: Report) -> dict[str, str]:
    """Return the sheets that a plan can have, by their names."""
    from trappoint.drawing.chart import write_chart
    from trappoint.drawing.diagram import draw
    from trappoint.drawing.paper import sheet_of

    layout, table, facts = report.layout, report.table, report.facts
    if layout is None:
        return {}
    strip, widest = draw(layout, table=table), sheet_of("a4").widest or 0
    folds = strip.sketch.bounds().right - strip.sketch.bounds().left > widest
    diagram = draw(layout, table=table, widest=widest) if folds else strip
    sheets = {
        DIAGRAM: f"{diagram.svg(heading=False)}\n",
        "chart.html": write_chart(report, drawing=diagram),
    }
    if table is None or facts is None:
        return sheets
    from trappoint.drawing.working_page import working_page
    from trappoint.fitting.sheet import derive_sheet
    from trappoint.reporting import fitting_html, table_html
    from trappoint.reporting.work_data import work_data

    title, look = title_of(report), RenderOptions()
    sheets["work.html"] = working_page(strip, work_data(facts), facts.takes_for_granted)
    sheets["table.html"] = table_html.render(table, title, look)
    sheets["fitting.html"] = fitting_html.render(derive_sheet(facts, table, title), look)
    return sheets
