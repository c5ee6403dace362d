"""Roads: set, as JSON and in words on the page of the plan."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING

import trappoint
from trappoint.core.findings import CAUTION
from trappoint.operation.road import set_road
from trappoint.operation.standing import NoPlace
from trappoint.reporting.road_words import MEASURE, tell_order, tell_other, tell_outcome
from trappoint_service.answers import (
    NoSuchPlace,
    PlanNotUsable,
    PlanPage,
    RoadShown,
    Text,
    not_usable,
)
from trappoint_service.plan_page import page_of

if TYPE_CHECKING:
    from trappoint import Report
    from trappoint.model.settings import Settings
    from trappoint.operation.road import Asked, Road
    from trappoint_service.jobs import SetRoad, ShowRoad

MAX_STEPS = 600_000
"""Steps of one search: fewer than on the command line, so that it ends in time."""

NO_TABLE = "There is no locking table of this plan to set a road by."


def set_one_road(job: SetRoad, settings: Settings) -> Text | PlanNotUsable | NoSuchPlace:
    """Return the road, as the command line prints it."""
    report = trappoint.check(job.plan.content, name=job.plan.name, settings=settings)
    try:
        road = _road(report, job.wish)
    except NoPlace as mistake:
        return NoSuchPlace(str(mistake))
    if road is None:
        return not_usable(report)
    return Text(json.dumps({**road.to_json(), "caution": CAUTION}, indent=2) + "\n")


def show_road(job: ShowRoad, settings: Settings) -> PlanPage:
    """Return the page of the plan, with the road on its diagram."""
    from trappoint.drawing.road_highlight import light

    report = trappoint.check(job.plan.content, name=job.plan.name, settings=settings)
    lit = None
    try:
        road = _road(report, job.wish)
    except NoPlace as mistake:
        shown = RoadShown(mistake=str(mistake))
    else:
        shown = RoadShown(mistake=NO_TABLE) if road is None else _shown(road)
        if road is not None and report.layout is not None:
            lit = light(road, report.layout)
    return replace(page_of(report, lit), road=shown)


def _road(report: Report, wish: Asked) -> Road | None:
    """Return the road, None if there is no table to set it by. Raises NoPlace."""
    if report.facts is None or report.table is None:
        return None
    return set_road(report.facts, wish, most_steps=MAX_STEPS)


def _shown(road: Road) -> RoadShown:
    orders = [
        {
            "title": f"{order.train} from {order.start} to {order.end}",
            "steps": [step._asdict() for step in tell_order(order)],
        }
        for order in road.orders
    ]
    return RoadShown(
        outcome=tuple(tell_outcome(road)),
        orders=orders,
        measure=MEASURE,
        others=[tell_other(other) for other in road.others],
    )
