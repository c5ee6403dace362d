"""Roads: what is asked for, found and put into words for the page."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import trappoint
from trappoint.core.findings import CAUTION
from trappoint.operation.road import Asked, set_road
from trappoint.operation.standing import NoPlace
from trappoint.reporting.road_words import MEASURE, tell_order, tell_other, tell_outcome
from trappoint_service.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Mapping

    from werkzeug.datastructures import MultiDict

    from trappoint import Report
    from trappoint.model.settings import Settings
    from trappoint.operation.road import Road

MAX_STEPS = 600_000
"""What a search may look at here: less than on the command line, so that it ends in time."""

MAX_NAMES = 200
"""The names that one request may give."""


def wish_for_road(given: MultiDict[str, str]) -> dict[str, Any]:
    """Return what is asked for; raises ``Problem`` where it can not be understood."""
    wish: dict[str, Any] = {"from": given.get("from", ""), "to": given.get("to", "")}
    if not wish["from"] or not wish["to"]:
        raise Problem(400, "bad-request", "`from` and `to` must say from where to where.")
    for key in ("leaving", "arriving"):
        wish[key] = given.get(key) or None
        if wish[key] not in (None, "up", "down"):
            raise Problem(400, "bad-request", f"`{key}` must be up or down.")
    wish["scene"] = given.get("scene") or None
    for key in ("via", "standing"):
        wish[key] = [name for name in given.getlist(key) if name]
        if len(wish[key]) > MAX_NAMES:
            raise Problem(400, "bad-request", f"`{key}` may be given {MAX_NAMES} times.")
    return wish


def _set(report: Report, wish: Mapping[str, Any]) -> Road | str | None:
    """Return the road; what is wrong with the names; None where there is no table to go by."""
    if report.facts is None or report.table is None:
        return None
    asked = Asked(
        wish["from"],
        wish["to"],
        tuple(wish["via"]),
        wish["leaving"],
        wish["arriving"],
        wish["scene"],
        tuple(wish["standing"]),
    )
    try:
        return set_road(report.facts, asked, most_steps=MAX_STEPS)
    except NoPlace as mistake:
        return str(mistake)


def answer_road(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Set a road: ``text`` (JSON, as the command line prints), or why there is none."""
    from trappoint_service.answers import without

    report = trappoint.check(payload, name=job["name"], settings=settings)
    road = _set(report, job["wish"])
    if road is None:
        return without(report)
    if isinstance(road, str):
        return {"bad": road}
    return {"text": json.dumps({**road.to_json(), "caution": CAUTION}, indent=2) + "\n"}


def road_page(job: Mapping[str, Any], payload: bytes, settings: Settings) -> dict[str, Any]:
    """Set a road, and return all that the page of the plan shows, the road on its diagram."""
    from trappoint.drawing.road_lit import light
    from trappoint_service.answers import tell_report

    report = trappoint.check(payload, name=job["name"], settings=settings)
    road = _set(report, job["wish"])
    lit = None
    if road is not None and not isinstance(road, str) and report.layout is not None:
        lit = light(road, report.layout)
    answer = tell_report(report, lit)
    answer["road"] = {"wish": dict(job["wish"]), **_tell(road)}
    return answer


def _tell(road: Road | str | None) -> dict[str, Any]:
    if road is None:
        return {"mistake": "There is no locking table of this plan to set a road by."}
    if isinstance(road, str):
        return {"mistake": road}
    return {
        "outcome": list(tell_outcome(road)),
        "orders": [
            {
                "title": f"{order.train} from {order.start} to {order.end}",
                "steps": [step._asdict() for step in tell_order(order)],
            }
            for order in road.orders
        ],
        "measure": MEASURE,
        "others": [tell_other(other) for other in road.others],
    }
