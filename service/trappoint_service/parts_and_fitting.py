"""Parts and fitting sheets: jobs that take a plan and a store."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import trappoint
from trappoint.core.terminal import RenderOptions

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint import Report
    from trappoint.fitting.sheet import FittingSheet
    from trappoint.model.settings import Settings
    from trappoint.parts.planning import PartsPlan
    from trappoint.parts.store import Store


NO_SOLVER = "The solver that finds the least cost is not installed here."

MAX_TOLD = 20
"""So many mistakes of a store are told on a page."""


class BadStore(Exception):  # noqa: N818 - it names what was sent
    """A store that can not be used; the arguments say why, the first thing first."""


def plan_the_parts(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Plan the parts: ``text`` (JSON, as the command line prints), ``bad`` or ``report``.

    ``size``: how many bytes of the payload are the plan; the rest is the store. ``without``:
    signals; ``at_most``: hundredths or None; ``seconds``.
    """
    from trappoint.parts.demand import SignalKey, demand_of
    from trappoint.parts.planning import plan_parts
    from trappoint.parts.rendering import render_json

    report = trappoint.check(payload[: job["size"]], name=job["name"], settings=settings)
    if report.layout is None:
        return {"unusable": report}
    try:
        store = _store_in(payload[job["size"] :])
    except BadStore as bad:
        return {"bad": bad.args[0]}
    name = job["name"].removesuffix(".layout.json")
    needs = demand_of([(name, report.layout)])
    unknown = [signal for signal in job["without"] if signal not in report.layout.signals]
    if unknown:
        return {"bad": f"There is no signal {unknown[0]} in this plan."}
    answer = plan_parts(
        store,
        needs,
        left_out=tuple(SignalKey(name, signal) for signal in job["without"]),
        at_most=job["at_most"],
        seconds=job["seconds"],
    )
    return {"text": render_json(answer, store, "", RenderOptions())}


def make_sheet(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Make the fitting sheet: ``text``, ``bad`` or ``report``.

    ``size`` and ``seconds`` are as for the parts; without a store in the payload nothing is told
    of what can be fitted today. ``format``: json (where none is named), html or csv.
    """
    from trappoint.reporting import fitting_html, fitting_text

    report = trappoint.check(payload[: job["size"]], name=job["name"], settings=settings)
    try:
        found = _found(report, payload[job["size"] :], job["seconds"])
    except BadStore as bad:
        return {"bad": bad.args[0]}
    if found is None:
        return {"unusable": report}
    if found.answer is not None and found.sheet.today is None:
        return {"bad": "No way was found to get the parts."}
    renderers = {
        "json": fitting_text.render_json,
        "csv": fitting_text.render_csv,
        "html": fitting_html.render,
    }
    return {"text": renderers[job.get("format", "json")](found.sheet, RenderOptions())}


def bench_page(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Return all that the page of a plan shows, with its fitting sheet, and parts from a store.

    ``size`` and ``seconds`` are as for the parts.
    """
    from trappoint.core.errors import NotInstalled
    from trappoint_service.answers import tell_report

    content = payload[job["size"] :]
    report = trappoint.check(payload[: job["size"]], name=job["name"], settings=settings)
    answer = tell_report(report)
    try:
        answer["bench"] = _tell(_found(report, content, job["seconds"]))
    except BadStore as bad:
        more = len(bad.args) - MAX_TOLD
        rest = [f"And {more} more."] if more > 0 else []
        answer["bench"] = {"mistakes": [*bad.args[:MAX_TOLD], *rest]}
    except NotInstalled:
        answer["bench"] = {"mistakes": [NO_SOLVER]}
    return answer


class _Found(NamedTuple):
    sheet: FittingSheet
    store: Store | None
    answer: PartsPlan | None
    """None where no store was sent."""


def _found(report: Report, content: bytes, seconds: float) -> _Found | None:
    """Derive the sheet, and plan the parts where a store was sent; None: there is no table."""
    from trappoint.fitting.sheet import derive_sheet
    from trappoint.parts.demand import demand_of
    from trappoint.parts.planning import plan_parts
    from trappoint.parts.today import today_of

    table, facts = report.table, report.facts
    if table is None or facts is None:
        return None
    store = _store_in(content) if content else None
    sheet = derive_sheet(facts, table, facts.layout.title or report.file)
    if store is None:
        return _Found(sheet, None, None)
    answer = plan_parts(store, demand_of([("", facts.layout)]), seconds=seconds)
    return _Found(sheet._replace(today=today_of(answer, store, facts, sheet)), store, answer)


def _tell(found: _Found | None) -> dict[str, Any]:
    from trappoint.parts.rendering import body_of as tell_parts
    from trappoint.reporting.fitting_html import body_of as tell_sheet

    if found is None:
        return {"mistakes": ["There is no locking table of this plan to fit signals by."]}
    told = {"sheet": tell_sheet(found.sheet, 3), "parts": ""}
    if found.store is not None and found.answer is not None:
        told["parts"] = tell_parts(found.answer, found.store, 4)
    return told


def _store_in(content: bytes) -> Store:
    from trappoint.parts.store_reading import read_store

    found = read_store(content, "store")
    if found.store is None:
        raise BadStore(
            *(
                f"The store, line {one.line}, column {one.column}: {one.message} {one.fix}"
                for one in found.findings
            )
        )
    return found.store
