"""Roads, as JSON and on the page of the plan."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.operation.road import set_road
from trappoint.operation.standing import NoPlace
from trappoint.reporting.road_words import (
    MEASURE,
    tell_heading,
    tell_order,
    tell_other,
    tell_outcome,
)
from trappoint_service.answers import (
    NoSuchPlace,
    PlanNotUsable,
    PlanPage,
    RoadShown,
    Text,
    not_usable,
)
from trappoint_service.diagrams import draw_report, picture_of
from trappoint_service.plan_page import MAX_SVG, page_of
from trappoint_service.sent_plans import check_sent

if TYPE_CHECKING:
    from trappoint import Report
    from trappoint.model.settings import Settings
    from trappoint.operation.road import Asked, Road
    from trappoint_service.jobs import SetRoad, ShowRoad

MAX_STEPS = 600_000
"""Most steps of one search: fewer than on the command line, so that it ends in time."""

ROAD_PREFIX = "r-"
"""The prefix of ids in the diagram of a road, which is the second one on its page."""

NO_TABLE = "This plan has no locking table, so no road can be set."


def set_one_road(job: SetRoad, settings: Settings) -> Text | PlanNotUsable | NoSuchPlace:
    """Return the road as JSON, like the command line."""
    report = check_sent(job.plan, settings)
    try:
        road = _road(report, job.wish)
    except NoPlace as mistake:
        return NoSuchPlace(str(mistake))
    if road is None:
        return not_usable(report)
    return Text(json.dumps({**road.to_json(), "caution": CAUTION}, indent=2) + "\n")


def show_road(job: ShowRoad, settings: Settings) -> PlanPage:
    """Return the page of the plan, with the road on its diagram."""
    from trappoint.drawing.moment import moment_of_road

    report = check_sent(job.plan, settings)
    diagram = draw_report(report, strip=job.strip)
    try:
        road = _road(report, job.wish)
    except NoPlace as mistake:
        shown = RoadShown(mistake=str(mistake))
    else:
        shown = RoadShown(mistake=NO_TABLE) if road is None else _shown(road)
        if diagram is not None and road is not None and report.layout is not None:
            moment = moment_of_road(road, report.layout)
            svg = picture_of(replace(diagram, moment=moment), prefix=ROAD_PREFIX)
            shown = replace(shown, svg=svg if svg is not None and len(svg) <= MAX_SVG else None)
    return replace(page_of(report, diagram, strip=job.strip), road=shown)


def _road(report: Report, wish: Asked) -> Road | None:
    """Return the road; None if the plan has no locking table. Raises NoPlace."""
    if report.facts is None or report.table is None:
        return None
    return set_road(report.facts, wish, most_steps=MAX_STEPS)


def _shown(road: Road) -> RoadShown:
    orders = [
        {
            "title": tell_heading(order, road.called),
            "steps": [step._asdict() for step in tell_order(order, road.called)],
        }
        for order in road.orders
    ]
    return RoadShown(
        outcome=tuple(tell_outcome(road)),
        orders=orders,
        measure=MEASURE,
        others=[tell_other(other, road.called) for other in road.others],
    )
