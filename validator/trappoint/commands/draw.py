"""Draw the diagram of a plan, like the one on the wall of a signal box.

The drawing needs no coordinates. If the plan has errors, the diagram shows the rest.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from trappoint.app.exit_codes import OK
from trappoint.app.load import read_plan
from trappoint.commands.paper import add_sheet, sheet_meant, tell_unprinted
from trappoint.commands.shared import (
    add_output,
    add_plan,
    tell_more,
    unreadable,
    write_output,
)
from trappoint.core.errors import CannotUse
from trappoint.drawing.export import FORMATS, to_pdf, to_png

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.checking.report import Report
    from trappoint.drawing.diagram import Diagram
    from trappoint.drawing.moment import Moment
    from trappoint.drawing.paper import Sheet


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    add_plan(parser)
    add_output(parser)
    parser.add_argument(
        "--format",
        choices=(*FORMATS, "html"),
        help="format of the drawing; html can be worked: points, arms, levers, trains (default: "
        "the ending of FILE, or svg)",
    )
    add_sheet(parser)
    parser.add_argument(
        "--scene",
        metavar="NAME",
        help="scene of the plan to show: its points, arms and trains (default: the normal lies)",
    )
    parser.add_argument(
        "--road",
        nargs=2,
        metavar=("FROM", "TO"),
        help="road to show as `trappoint road FILE FROM TO` sets it; --scene places the other "
        "trains (default: none)",
    )
    parser.add_argument(
        "--via",
        metavar="TRACK",
        action="append",
        default=[],
        help="track or element that the road must run over; may be repeated (default: any)",
    )
    parser.add_argument("--findings", action="store_true", help="marks at the places of findings")


def run(options: Namespace, streams: Streams) -> int:
    """Draw the plan and return the exit code."""
    wanted = options.format or format_of(options.output_file)
    if options.output_file is None and wanted != "svg":
        raise CannotUse(f"{wanted.upper()} needs a file: -o FILE (-o - for standard output).")
    if options.via and not options.road:
        raise CannotUse("--via needs a road: --road FROM TO.")
    if wanted == "html" and (options.scene is not None or options.road):
        raise CannotUse("--scene and --road need SVG, PNG or PDF: the page in HTML has them all.")
    report = read_plan(options.file)
    if report.layout is None:
        raise unreadable(report, streams)
    from trappoint.drawing.diagram import draw

    sheet = sheet_meant(options)
    if wanted == "html":
        write_output(options.output_file, _page(report, streams, rows=sheet.rows), streams)
        return OK
    picture = partial(
        draw,
        report.layout,
        table=report.table,
        widest=sheet.widest,
        moment=_moment(options, report, streams),
    )
    findings = report.findings if options.findings else ()
    diagram = picture(findings=findings)
    if options.findings and diagram.unfollowed:
        diagram = picture(findings=(*findings, *diagram.unfollowed))
    elif not options.findings:
        tell_unfollowed(diagram, streams)
    write_drawing(diagram, options.output_file, wanted, sheet, streams)
    if not options.findings:
        tell_more(report, options.file, streams)
    return OK


def _moment(options: Namespace, report: Report, streams: Streams) -> Moment | None:
    """Return the scene or the road to show; None for neither.

    Raises ``CannotUse`` for a name that the plan does not have, and if there is no road.
    """
    if report.layout is None or (options.scene is None and not options.road):
        return None
    from trappoint.drawing.moment import moment_of_road, moment_of_scene
    from trappoint.operation.road import Asked, set_road
    from trappoint.operation.standing import NoPlace, scene_named
    from trappoint.reporting.road_words import tell_outcome

    try:
        if not options.road:
            return moment_of_scene(report.layout, scene_named(report.layout, options.scene))
        if report.facts is None or report.table is None:
            raise unreadable(report, streams)
        start, to = options.road
        road = set_road(report.facts, Asked(start, to, tuple(options.via), scene=options.scene))
    except NoPlace as error:
        raise CannotUse(str(error)) from None
    outcome = " ".join(tell_outcome(road))
    if not road.orders:
        raise CannotUse(outcome)
    if road.outcome != "free":
        streams.complain(f"trappoint: {outcome}")
    return moment_of_road(road, report.layout)


def _page(report: Report, streams: Streams, *, rows: bool) -> bytes:
    """Return the diagram that works, in rows or as one strip.

    Raises ``CannotUse`` if errors stop the derivation.
    """
    if report.layout is None or report.facts is None or report.table is None:
        raise unreadable(report, streams)
    from trappoint.drawing.diagram import draw
    from trappoint.drawing.working_page import widest_row, working_page
    from trappoint.reporting.work_data import work_data

    diagram = draw(report.layout, table=report.table, widest=widest_row() if rows else None)
    tell_unfollowed(diagram, streams)
    page = working_page(diagram, work_data(report.facts), report.facts.takes_for_granted)
    return page.encode("ascii")


def write_drawing(
    diagram: Diagram, name: str | None, wanted: str, sheet: Sheet, streams: Streams
) -> None:
    """Write a drawing, as ``write_output`` does. Raises ``CannotUse`` if that fails."""
    if wanted == "pdf":
        pdf = to_pdf(diagram.sheets(highest=sheet.highest), sheet)
        write_output(name, pdf.content, streams)
        tell_unprinted(pdf.unprinted, streams)
        return
    svg = diagram.svg()
    write_output(name, to_png(svg) if wanted == "png" else f"{svg}\n".encode(), streams)


def format_of(name: str | None) -> str:
    """Return the format that the ending of a name means; SVG if it means none."""
    ending = (name or "").rpartition(".")[2].lower()
    return ending if ending in (*FORMATS, "html") else "svg"


def tell_unfollowed(diagram: Diagram, streams: Streams) -> None:
    """Print the hints of the plan that the drawing does not follow."""
    for finding in diagram.unfollowed:
        streams.complain(f"trappoint: {finding.message} {finding.fix}")
