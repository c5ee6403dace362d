"""Checks, locking tables, diagrams, charts, and the page of a plan."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from trappoint.core.errors import NotInstalled
from trappoint.core.terminal import RenderOptions
from trappoint.reporting.formats import reporter, table_reporter
from trappoint_service.answers import (
    CannotMake,
    File,
    PlanNotUsable,
    PlanPage,
    Text,
    not_usable,
)
from trappoint_service.diagrams import draw_report, picture_of
from trappoint_service.plan_page import page_of
from trappoint_service.scenes import try_scene_of_page
from trappoint_service.sent_plans import check_sent

if TYPE_CHECKING:
    from trappoint.model.settings import Settings
    from trappoint_service.jobs import (
        CheckPlans,
        DeriveTable,
        DrawPlan,
        MakeFile,
        ShowPlan,
        TidyPlan,
        WriteChart,
        WriteSessions,
    )


def check_plans(job: CheckPlans, settings: Settings) -> Text:
    """Return the report of a check, like the command line."""
    boards = job.plans if len(job.plans) > 1 else job.plans[0].boards
    reports = [
        check_sent(replace(plan, boards=boards), settings).for_printing() for plan in job.plans
    ]
    reports.sort(key=lambda report: report.file)
    return Text("".join(reporter(job.format)(reports, RenderOptions())))


def derive_table(job: DeriveTable, settings: Settings) -> Text | PlanNotUsable:
    """Return the locking table, like the command line."""
    report = check_sent(job.plan, settings)
    table = report.table
    if table is None:
        return not_usable(report)
    title = (report.layout.title if report.layout is not None else "") or report.file
    return Text(table_reporter(job.format)(table, title, RenderOptions()))


def draw_plan(job: DrawPlan, settings: Settings) -> Text | PlanNotUsable:
    """Return the diagram as SVG."""
    report = check_sent(job.plan, settings)
    svg = picture_of(draw_report(report), heading=True)
    return not_usable(report) if svg is None else Text(svg)


def write_wall_chart(job: WriteChart, settings: Settings) -> Text | PlanNotUsable:
    """Return the wall chart as HTML."""
    from trappoint.drawing.chart import write_chart

    report = check_sent(job.plan, settings)
    return not_usable(report) if report.table is None else Text(write_chart(report))


def write_sessions(job: WriteSessions, settings: Settings) -> Text | PlanNotUsable:
    """Return the signalman's sheets of all running sessions as HTML."""
    from trappoint.operation.session_sheet import write_sheet
    from trappoint.reporting.session_html import render
    from trappoint.reporting.wording import title_of

    report = check_sent(job.plan, settings)
    if report.facts is None or report.table is None:
        return not_usable(report)
    sheets = [write_sheet(report.facts, each) for each in report.facts.sessions]
    if not sheets:
        return PlanNotUsable("has no running sessions.")
    return Text(render(sheets, title_of(report), RenderOptions()))


def make_file(job: MakeFile, settings: Settings) -> File | PlanNotUsable | CannotMake:
    """Return the diagram or the wall chart, as the command line writes it for A4 sheets."""
    from trappoint.drawing.chart_pdf import chart_pdf
    from trappoint.drawing.diagram import draw
    from trappoint.drawing.export import to_pdf, to_png
    from trappoint.drawing.paper import sheet_of

    report = check_sent(job.plan, settings)
    if report.layout is None or (job.content == "chart" and report.table is None):
        return not_usable(report)
    try:
        if job.content == "chart":
            return File(chart_pdf(report).content)
        sheet = sheet_of("a4")
        diagram = draw(report.layout, table=report.table, widest=sheet.widest)
        if job.format == "png":
            return File(to_png(diagram.svg()))
        return File(to_pdf(diagram.sheets(highest=sheet.highest), sheet).content)
    except NotInstalled:
        kind = job.format.upper()
        return CannotMake(f"This service makes no {kind}: the library for it is not installed.")


def tidy_plan(job: TidyPlan, settings: Settings) -> Text | PlanNotUsable:
    """Return the plan in the one layout of ``trappoint tidy``."""
    from trappoint.tidying.tidy import tidy_content

    tidied = tidy_content(job.plan.content, job.plan.name)
    return Text(tidied) if isinstance(tidied, str) else not_usable(check_sent(job.plan, settings))


def show_plan(job: ShowPlan, settings: Settings) -> PlanPage:
    """Return the page of a checked plan, with the chosen scene if any."""
    report = check_sent(job.plan, settings)
    page = page_of(report, strip=job.strip)
    if job.scene is not None and report.table is not None:
        page = replace(page, scene=try_scene_of_page(job.plan, job.scene))
    return page
