"""Parts and fitting sheets, from a plan and a store."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.terminal import RenderOptions
from trappoint_service.answers import (
    FittingShown,
    PartsNotUsable,
    PlanNotUsable,
    PlanPage,
    Text,
    not_usable,
)
from trappoint_service.plan_page import page_of
from trappoint_service.sent_plans import check_sent
from trappoint_service.sent_stores import BadStore, findings_of, read_store_sent

if TYPE_CHECKING:
    from trappoint import Report
    from trappoint.fitting.sheet import FittingSheet
    from trappoint.model.settings import Settings
    from trappoint.parts.planning import PartsPlan
    from trappoint.parts.store import Store
    from trappoint_service.jobs import MakeFittingSheet, PlanParts, ShowPartsAndFitting


NO_SOLVER = "This service cannot plan parts: its solver is not installed."
NO_TABLE = "This plan has no locking table, so there is no fitting sheet."

MAX_MISTAKES = 20
"""Most mistakes of a store that a page shows."""


def plan_parts_from_store(
    job: PlanParts, settings: Settings
) -> Text | PlanNotUsable | PartsNotUsable:
    """Return the parts plan as JSON, like the command line."""
    from trappoint.core.errors import NotInstalled
    from trappoint.parts.demand import SignalKey, demand_of
    from trappoint.parts.reasons import plan_with_reasons
    from trappoint.parts.rendering import render_json

    report = check_sent(job.plan, settings)
    if report.layout is None:
        return not_usable(report)
    try:
        store = read_store_sent(job.store)
    except BadStore as bad:
        return PartsNotUsable(bad.args[0])
    name, wish = job.plan.name.removesuffix(".layout.json"), job.wish
    unknown = [signal for signal in wish.without if signal not in report.layout.signals]
    if unknown:
        return PartsNotUsable(f"There is no signal {unknown[0]} in this plan.")
    try:
        plan = plan_with_reasons(
            store,
            demand_of([(name, report.layout)]),
            left_out=tuple(SignalKey(name, signal) for signal in wish.without),
            at_most=wish.at_most,
            seconds=wish.seconds,
        )
    except NotInstalled:
        return PartsNotUsable(NO_SOLVER)
    return Text(render_json(plan, store))


def make_fitting_sheet(
    job: MakeFittingSheet, settings: Settings
) -> Text | PlanNotUsable | PartsNotUsable:
    """Return the fitting sheet, like the command line."""
    from trappoint.core.errors import NotInstalled
    from trappoint.reporting import fitting_html, fitting_text

    report = check_sent(job.plan, settings)
    try:
        derived = _derive(report, job.store, job.seconds)
    except BadStore as bad:
        return PartsNotUsable(bad.args[0])
    except NotInstalled:
        return PartsNotUsable(NO_SOLVER)
    if derived is None:
        return not_usable(report)
    if derived.parts is not None and derived.sheet.today is None:
        return PartsNotUsable("The store cannot provide the parts.")
    renderers = {
        "json": fitting_text.render_json,
        "csv": fitting_text.render_csv,
        "html": fitting_html.render,
    }
    return Text(renderers[job.format](derived.sheet, RenderOptions()))


def show_parts_and_fitting(job: ShowPartsAndFitting, settings: Settings) -> PlanPage:
    """Return the page of a plan with its fitting sheet, and with the parts from a store."""
    from trappoint.core.errors import NotInstalled
    from trappoint.parts.store_reading import read_store

    report = check_sent(job.plan, settings)
    page = page_of(report)
    try:
        shown = _shown(_derive(report, job.store, job.seconds))
        if job.store is not None:
            warnings = findings_of(read_store(job.store, "store"))
            shown = replace(shown, mistakes=(*shown.mistakes, *warnings))
    except BadStore as bad:
        more = len(bad.args) - MAX_MISTAKES
        rest = [f"And {more} more."] if more > 0 else []
        shown = FittingShown(mistakes=(*bad.args[:MAX_MISTAKES], *rest))
    except NotInstalled:
        shown = FittingShown(mistakes=(NO_SOLVER,))
    return replace(page, fitting=shown)


class _SheetAndParts(NamedTuple):
    sheet: FittingSheet
    store: Store | None
    parts: PartsPlan | None
    """None if no store was sent."""


def _derive(report: Report, content: bytes | None, seconds: float) -> _SheetAndParts | None:
    """Derive the sheet, and plan the parts if there is a store; None without a locking table.

    Raises BadStore and NotInstalled.
    """
    from trappoint.fitting.sheet import derive_sheet
    from trappoint.parts.demand import demand_of
    from trappoint.parts.fitted_today import today_of
    from trappoint.parts.reasons import plan_with_reasons

    table, facts = report.table, report.facts
    if table is None or facts is None:
        return None
    store = None if content is None else read_store_sent(content)
    sheet = derive_sheet(facts, table, facts.layout.title or report.file)
    if store is None:
        return _SheetAndParts(sheet, None, None)
    parts = plan_with_reasons(store, demand_of([("", facts.layout)]), seconds=seconds)
    sheet = sheet._replace(today=today_of(parts, store, facts, sheet))
    return _SheetAndParts(sheet, store, parts)


def _shown(derived: _SheetAndParts | None) -> FittingShown:
    from trappoint.parts.rendering import body_of as parts_as_html
    from trappoint.reporting.fitting_html import body_of as sheet_as_html

    if derived is None:
        return FittingShown(mistakes=(NO_TABLE,))
    parts = shopping = bench = ""
    if derived.store is not None and derived.parts is not None:
        parts, shopping, bench = (
            parts_as_html(derived.parts, derived.store, 4, sheet)
            for sheet in ("plan", "shopping", "bench")
        )
    return FittingShown(sheet_as_html(derived.sheet, 3), parts, shopping, bench)
