"""Set the road of a train from one stand to another, with other trains standing elsewhere.

Exit codes: 0 = the road is free, 1 = other trains must move first, or there is no road.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import FINDINGS, INTERNAL_ERROR, OK
from trappoint.app.load import read_plan
from trappoint.commands.shared import (
    STANDARD_OUTPUT,
    add_format,
    add_plan,
    plain_look,
    tell_more,
    unreadable,
)
from trappoint.core.errors import CannotUse
from trappoint.reporting.wording import title_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.checking.report import Report
    from trappoint.operation.road import Road

FORMATS = ("text", "markdown", "json")


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    add_plan(parser)
    parser.add_argument(
        "start",
        metavar="FROM",
        help="place of the train: a track or a section of one (main.2), a platform, a yard, an "
        "edge (edge:NAME)",
    )
    parser.add_argument("to", metavar="TO", help="destination of the train, a place like FROM")
    parser.add_argument(
        "--scene", help="scene of the plan that places the other trains (default: none)"
    )
    parser.add_argument(
        "--standing",
        metavar="TRACK",
        action="append",
        default=[],
        help="place of another train; may be repeated (default: no other train)",
    )
    parser.add_argument(
        "--via",
        metavar="TRACK",
        action="append",
        default=[],
        help="track or element that the train must run over; may be repeated (default: any)",
    )
    parser.add_argument(
        "--leaving", choices=("up", "down"), help="direction of departure (default: either)"
    )
    parser.add_argument(
        "--arriving", choices=("up", "down"), help="direction of arrival (default: either)"
    )
    parser.add_argument(
        "--all", action="store_true", help="other roads too, each with the reason against it"
    )
    add_format(parser, FORMATS)
    parser.add_argument(
        "--draw",
        metavar="FILE",
        help="file for a diagram with the road: .svg, .png or .pdf; - for standard output, "
        "which then has the drawing alone (default: none)",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Print the road and return the exit code."""
    report = read_plan(options.file)
    if report.facts is None or report.table is None:
        raise unreadable(report, streams)
    from trappoint.operation.road import Asked, set_road
    from trappoint.operation.standing import NoPlace

    asked = Asked(
        options.start,
        options.to,
        tuple(options.via),
        options.leaving,
        options.arriving,
        options.scene,
        tuple(options.standing),
    )
    try:
        road = set_road(report.facts, asked)
    except NoPlace as error:
        raise CannotUse(str(error)) from None
    drawn = options.draw is not None and _draw(road, report, options.draw, streams)
    if not drawn or options.draw != STANDARD_OUTPUT:
        streams.say(_render(road, report, options, streams))
    tell_more(report, options.file, streams)
    if report.fault is not None:
        return INTERNAL_ERROR
    return OK if road.outcome == "free" else FINDINGS


def _draw(road: Road, report: Report, name: str, streams: Streams) -> bool:
    """Draw the road, and return whether there is one. Raises ``CannotUse`` if writing fails."""
    if report.layout is None or not road.orders:
        streams.complain("trappoint: there is no road to draw.")
        return False
    from trappoint.commands.draw import format_of, write_drawing
    from trappoint.drawing.diagram import draw
    from trappoint.drawing.moment import moment_of_road
    from trappoint.drawing.paper import sheet_of

    moment = moment_of_road(road, report.layout)
    diagram = draw(report.layout, table=report.table, moment=moment)
    write_drawing(diagram, name, format_of(name), sheet_of("a4"), streams)
    return True


def _render(road: Road, report: Report, options: Namespace, streams: Streams) -> str:
    if options.format == "json":
        import json

        from trappoint.core.findings import CAUTION

        return json.dumps({**road.to_json(), "caution": CAUTION}, indent=2) + "\n"
    title = title_of(report)
    look = plain_look(streams)
    if options.format == "markdown":
        from trappoint.reporting.road_markdown import render
    else:
        from trappoint.reporting.road_text import render
    return render(road, title, look, others=options.all)
