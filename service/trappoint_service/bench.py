"""Parts and fitting sheets: jobs that take a plan and a store."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import trappoint
from trappoint.reporting import Look

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.parts import Store
    from trappoint.settings import Settings


class BadStore(Exception):  # noqa: N818 - it names what was sent
    """A store that can not be used; the message says why."""


def plan_the_parts(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Plan the parts: ``text`` (JSON, as the command line prints), ``bad`` or ``report``.

    ``size``: how many bytes of the payload are the plan; the rest is the store. ``without``:
    signals; ``at_most``: hundredths or None; ``seconds``.
    """
    from trappoint.parts import SignalKey, demand_of, plan_parts
    from trappoint.parts.rendering import render_json

    report = trappoint.check(payload[: job["size"]], name=job["name"], settings=settings)
    if report.layout is None:
        return {"unusable": report}
    try:
        store = _store_in(payload[job["size"] :])
    except BadStore as bad:
        return {"bad": str(bad)}
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
    return {"text": render_json(answer, store, "", Look())}


def make_sheet(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Make the fitting sheet: ``text`` (JSON), ``bad`` or ``report``.

    ``size`` and ``seconds`` are as for the parts; without a store in the payload nothing is told
    of what can be fitted today.
    """
    from trappoint.erecting.sheet import derive_sheet
    from trappoint.parts.today import fitted_today
    from trappoint.reporting.erect_text import render_json

    report = trappoint.check(payload[: job["size"]], name=job["name"], settings=settings)
    table, facts = report.table, report.facts
    if table is None or facts is None:
        return {"unusable": report}
    sheet = derive_sheet(facts, table, facts.layout.title or report.file)
    if len(payload) > job["size"]:
        try:
            store = _store_in(payload[job["size"] :])
        except BadStore as bad:
            return {"bad": str(bad)}
        today = fitted_today(facts, sheet, store, job["seconds"])
        if today is None:
            return {"bad": "No way was found to get the parts."}
        sheet = sheet._replace(today=today)
    return {"text": render_json(sheet, Look())}


def _store_in(content: bytes) -> Store:
    from trappoint.parts import read_store

    found = read_store(content, "store")
    if found.store is None:
        first = found.findings[0]
        raise BadStore(
            f"The store, line {first.line}, column {first.column}: {first.message} {first.fix}"
        )
    return found.store
