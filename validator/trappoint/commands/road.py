"""Set a road from a stand to a stand, like a signalman, with other trains standing elsewhere.

Exits with 0 where the road is free, with 1 where other trains must be moved first or it can not be
done.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import FINDINGS, INTERNAL_ERROR, OK, USAGE_ERROR
from trappoint.app.load import read_plan
from trappoint.commands.draw import tell_more, tell_unreadable
from trappoint.core.terminal import WIDTH, RenderOptions
from trappoint.reporting.wording import name_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.checking.check import Report
    from trappoint.operation.road import Road

FORMATS = ("text", "markdown", "json")


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    parser.add_argument("file", metavar="PLAN", help="a plan, or - for standard input")
    parser.add_argument(
        "start",
        metavar="FROM",
        help="where the train stands: a track or a part of one (main.2), a platform, a yard, an "
        "edge (edge:NAME)",
    )
    parser.add_argument("to", metavar="TO", help="where it is to stand, named likewise")
    parser.add_argument("--scene", help="the scene that says which trains stand where")
    parser.add_argument(
        "--standing",
        metavar="TRACK",
        action="append",
        default=[],
        help="where another train stands; may be given several times",
    )
    parser.add_argument(
        "--via",
        metavar="TRACK",
        action="append",
        default=[],
        help="what the train must run over; may be given several times",
    )
    parser.add_argument("--leaving", choices=("up", "down"), help="the way it is to set off")
    parser.add_argument("--arriving", choices=("up", "down"), help="the way it is to come in")
    parser.add_argument(
        "--all", action="store_true", help="tell other roads too, and why they were not chosen"
    )
    parser.add_argument(
        "--format", choices=FORMATS, default="text", help="how to print it (default: text)"
    )
    parser.add_argument(
        "--draw", metavar="FILE", help="also draw the road on the diagram: .svg, .png or .pdf"
    )


def run(options: Namespace, streams: Streams) -> int:
    """Print the road and return the exit code."""
    report = read_plan(options.file, streams)
    if report is None:
        return USAGE_ERROR
    if report.facts is None or report.table is None:
        return tell_unreadable(report, streams)
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
        streams.complain(f"trappoint: {error}")
        return USAGE_ERROR
    if options.draw is not None and not _draw(road, report, options.draw, streams):
        return USAGE_ERROR
    streams.say(_render(road, report, options, streams))
    tell_more(report, options.file, streams, marked=False)
    if report.fault is not None:
        return INTERNAL_ERROR
    return OK if road.outcome == "free" else FINDINGS


def _draw(road: Road, report: Report, name: str, streams: Streams) -> bool:
    """Draw the road as it is set. False where that could not be done, which is said."""
    if report.layout is None or not road.orders:
        streams.complain("trappoint: there is no road to draw.")
        return True
    from trappoint.commands.draw import format_of, write_drawing
    from trappoint.drawing.diagram import draw
    from trappoint.drawing.road_lit import light

    diagram = draw(report.layout, table=report.table, lit=light(road, report.layout))
    return write_drawing(diagram, name, format_of(name), "a4", streams)


def _render(road: Road, report: Report, options: Namespace, streams: Streams) -> str:
    if options.format == "json":
        import json

        from trappoint.core.findings import CAUTION

        return json.dumps({**road.to_json(), "caution": CAUTION}, indent=2) + "\n"
    title = (report.layout.title if report.layout else "") or name_of(report.file)
    look = RenderOptions(width=streams.width(WIDTH), encoding=streams.encoding)
    if options.format == "markdown":
        from trappoint.reporting.road_markdown import render
    else:
        from trappoint.reporting.road_text import render
    return render(road, title, look, others=options.all)
