"""Building a plan: take steps, then answer with the plan, its verdict and its diagram."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import trappoint
from trappoint.core.findings import CAUTION
from trappoint.fixing.quick_fixes import quick_fixes
from trappoint.laying.catalogue import offers
from trappoint.laying.dressing import keep_facts
from trappoint.laying.ending import layout_without_boards
from trappoint.laying.offering import choice, spot_of
from trappoint.laying.refusing import Refused
from trappoint.laying.steps import lay
from trappoint.model.building import build_layout
from trappoint.model.names import Names
from trappoint.reporting.findings_json import report_to_json
from trappoint.reporting.outline import call_spot
from trappoint.rules.catalogue import board_rules
from trappoint_service.answers import StepRefused, Text
from trappoint_service.diagrams import draw_report, picture_of
from trappoint_service.lay_requests import PARTS, read_lay_request

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint import Report
    from trappoint.laying.offering import Offer
    from trappoint.model.layout import Layout
    from trappoint.model.settings import Settings
    from trappoint_service.jobs import LayPlan
    from trappoint_service.lay_requests import LayRequest

FILE = "plan.layout.json"
"""The name of the plan in reports."""


def lay_plan(job: LayPlan, settings: Settings) -> Text | StepRefused:
    """Take the steps of a request, and answer with the parts that it wants.

    Raises UnusableWish.
    """
    request = read_lay_request(job.body)
    text = request.plan or ""
    said: tuple[str, ...] = ()
    touched: tuple[str, ...] = ()
    if request.steps:
        try:
            text, said, touched = lay(text if text.strip() else None, request.steps)
        except Refused as refused:
            return StepRefused(refused.step, refused.message, refused.fix)
    answer: dict[str, Any] = {"plan": text, "said": said, "touched": touched}
    if request.want:
        report = _checked(text, request, settings)
        for part in PARTS:
            if part in request.want:
                answer[part] = _MAKERS[part](report, request)
    answer["caution"] = CAUTION
    return Text(json.dumps(answer, separators=(",", ":")) + "\n")


def _checked(text: str, request: LayRequest, settings: Settings) -> Report:
    """Return the report on a text. An empty one is no plan yet, and has no findings."""
    if not text.strip():
        from trappoint.checking.report import Report

        return Report(FILE, None, (), text=text)
    files = trappoint.FilesAtHand(request.boards) if request.boards else None
    content = text.encode("utf-8", "surrogatepass")
    return trappoint.check(content, name=FILE, settings=settings, files=files)


def _report(report: Report, request: LayRequest) -> dict[str, Any]:
    return report_to_json(report)


def _diagram(report: Report, request: LayRequest) -> dict[str, Any] | None:
    """Return the diagram with its memory; None for a text that cannot be drawn."""
    diagram = draw_report(report, request.before)
    svg = picture_of(diagram, heading=False)
    return None if svg is None or diagram is None else {"svg": svg, "memory": diagram.memory}


def _work(report: Report, request: LayRequest) -> dict[str, Any] | None:
    """Return the data for the diagram that works; None without a locking table."""
    if report.facts is None or report.table is None:
        return None
    from trappoint.reporting.work_data import work_data

    return work_data(report.facts)


def _outline(report: Report, request: LayRequest) -> list[str]:
    """Return what leads where, as sentences; none for a text that is no plan."""
    if report.layout is None:
        return []
    from trappoint.reporting.outline import outline

    return outline(report.layout, report.table)


def _offers(report: Report, request: LayRequest) -> list[dict[str, Any]]:
    """Return what can be done at each place that the plan has, if the plan is in order.

    A further board must be one of the files that came with the request: the plan could not be
    judged with another.
    """
    layout = _layout_to_build_on(report)
    if layout is None:
        return []
    if report.facts is not None:
        keep_facts(report.facts)
    names = Names(layout)
    return [
        {
            "at": place,
            "called": call_spot(spot, names),
            "can": [
                _offer(found)
                for offer in offers(layout, place)
                if (found := _at_hand(offer, request.boards)) is not None
            ],
        }
        for place in request.at
        if (spot := spot_of(layout, place)) is not None
    ]


def _at_hand(offer: Offer, files: Mapping[str, str]) -> Offer | None:
    """Return an offer that names only files at hand; None for a board if there is no file."""
    if offer.step["do"] != "add-board":
        return offer
    if not files:
        return None
    return offer._replace(asks=(choice("plan", "Its file", *((name, name) for name in files)),))


def _layout_to_build_on(report: Report) -> Layout | None:
    """Return the layout that steps can go on from; None if the plan is not in order.

    Boards need not be there for that.
    """
    text = report.text or ""
    if not text.strip():
        return build_layout({"tracks": {}})
    if report.facts is not None or report.layout is None:
        return report.layout
    boards = {rule.id for rule in board_rules()}
    if any(each.rule not in boards for each in report.findings if each.level == "error"):
        return None
    return layout_without_boards(text)


def _offer(offer: Offer) -> dict[str, Any]:
    return {
        "label": offer.label,
        "group": offer.group,
        "step": offer.step,
        "asks": [
            {**ask._asdict(), "choices": [{"value": v, "label": label} for v, label in ask.choices]}
            for ask in offer.asks
        ],
    }


def _fixes(report: Report, request: LayRequest) -> list[dict[str, Any]]:
    """Return the quick fixes of the findings."""
    return [fix._asdict() for fix in quick_fixes(report)]


_MAKERS = {
    "report": _report,
    "fixes": _fixes,
    "diagram": _diagram,
    "work": _work,
    "outline": _outline,
    "offers": _offers,
}
"""From each part of an answer to the function that makes it."""
