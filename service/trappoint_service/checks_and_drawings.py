"""Checks, locking tables, diagrams, charts, and the page of a plan."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import trappoint
from trappoint.core.terminal import RenderOptions
from trappoint.reporting.formats import reporter, table_reporter
from trappoint_service.answers import PlanNotUsable, PlanPage, Text, not_usable
from trappoint_service.diagrams import draw_report, picture_of
from trappoint_service.plan_page import page_of
from trappoint_service.scenes import try_scene_of_page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.model.settings import Settings
    from trappoint_service.jobs import CheckPlans, DeriveTable, DrawPlan, ShowPlan, WriteChart


class FilesSent:
    """The files of one request. They have no folders: the file name identifies a board's plan."""

    def __init__(self, contents: Mapping[str, bytes]) -> None:
        self._contents = contents

    def read(self, path: str) -> bytes:
        """Return a file of the request."""
        name = path.rpartition("/")[2]
        if name not in self._contents:
            raise FileNotFoundError(path)
        return self._contents[name]


def check_plans(job: CheckPlans, settings: Settings) -> Text:
    """Return the report of a check, like the command line."""
    contents = {plan.name: plan.content for plan in job.plans}
    files = FilesSent(contents) if len(job.plans) > 1 else None
    reports = [
        trappoint.check(plan.content, name=plan.name, settings=settings, files=files).for_printing()
        for plan in job.plans
    ]
    reports.sort(key=lambda report: report.file)
    return Text("".join(reporter(job.format)(reports, RenderOptions())))


def derive_table(job: DeriveTable, settings: Settings) -> Text | PlanNotUsable:
    """Return the locking table, like the command line."""
    report = trappoint.check(job.plan.content, name=job.plan.name, settings=settings)
    table = report.table
    if table is None:
        return not_usable(report)
    title = (report.layout.title if report.layout is not None else "") or report.file
    return Text(table_reporter(job.format)(table, title, RenderOptions()))


def draw_plan(job: DrawPlan, settings: Settings) -> Text | PlanNotUsable:
    """Return the diagram as SVG."""
    report = trappoint.check(job.plan.content, name=job.plan.name, settings=settings)
    svg = picture_of(draw_report(report), heading=True)
    return not_usable(report) if svg is None else Text(svg)


def write_wall_chart(job: WriteChart, settings: Settings) -> Text | PlanNotUsable:
    """Return the wall chart as HTML."""
    from trappoint.drawing.chart import write_chart

    report = trappoint.check(job.plan.content, name=job.plan.name, settings=settings)
    return not_usable(report) if report.table is None else Text(write_chart(report))


def show_plan(job: ShowPlan, settings: Settings) -> PlanPage:
    """Return the page of a checked plan, with the chosen scene if any."""
    report = trappoint.check(job.plan.content, name=job.plan.name, settings=settings)
    page = page_of(report)
    if job.scene is not None and report.table is not None:
        page = replace(page, scene=try_scene_of_page(job.plan.content, job.scene))
    return page
