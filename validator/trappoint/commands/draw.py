"""Draw the diagram of a plan, like the one on the wall of a signal box.

The drawing needs no coordinates. If the plan has errors, the diagram shows the rest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import OK
from trappoint.app.load import read_plan
from trappoint.commands.shared import add_output, add_plan, tell_more, unreadable, write_output
from trappoint.core.errors import CannotUse
from trappoint.drawing.diagram import SHEETS
from trappoint.drawing.export import FORMATS, to_pdf, to_png

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.checking.report import Report
    from trappoint.drawing.diagram import Diagram


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
    parser.add_argument(
        "--sheet",
        choices=SHEETS,
        default="a4",
        help="size of the paper: a long plan is folded to fit; long: one strip (default: a4)",
    )
    parser.add_argument("--findings", action="store_true", help="marks at the places of findings")


def run(options: Namespace, streams: Streams) -> int:
    """Draw the plan and return the exit code."""
    wanted = options.format or format_of(options.output_file)
    if options.output_file is None and wanted != "svg":
        raise CannotUse(f"{wanted.upper()} needs a file: -o FILE (-o - for standard output).")
    report = read_plan(options.file)
    if report.layout is None:
        raise unreadable(report, streams)
    from trappoint.drawing.diagram import draw

    if wanted == "html":
        write_output(options.output_file, _page(report, streams), streams)
        return OK
    widest = SHEETS[options.sheet]
    findings = report.findings if options.findings else ()
    diagram = draw(report.layout, table=report.table, findings=findings, widest=widest)
    if options.findings and diagram.unfollowed:
        findings = (*findings, *diagram.unfollowed)
        diagram = draw(report.layout, table=report.table, findings=findings, widest=widest)
    elif not options.findings:
        tell_unfollowed(diagram, streams)
    write_drawing(diagram, options.output_file, wanted, options.sheet, streams)
    if not options.findings:
        tell_more(report, options.file, streams)
    return OK


def _page(report: Report, streams: Streams) -> bytes:
    """Return the diagram that works. Raises ``CannotUse`` if errors stop the derivation."""
    if report.layout is None or report.facts is None or report.table is None:
        raise unreadable(report, streams)
    from trappoint.drawing.diagram import draw
    from trappoint.drawing.working_page import working_page
    from trappoint.reporting.work_data import work_data

    diagram = draw(report.layout, table=report.table)
    tell_unfollowed(diagram, streams)
    page = working_page(diagram, work_data(report.facts), report.facts.takes_for_granted)
    return page.encode("ascii")


def write_drawing(
    diagram: Diagram, name: str | None, wanted: str, sheet: str, streams: Streams
) -> None:
    """Write a drawing, as ``write_output`` does. Raises ``CannotUse`` if that fails."""
    write_output(name, _written(diagram, wanted, sheet), streams)


def _written(diagram: Diagram, wanted: str, sheet: str) -> bytes:
    if wanted == "pdf":
        return to_pdf(diagram.sheets(), sheet)
    svg = diagram.svg()
    return to_png(svg) if wanted == "png" else f"{svg}\n".encode()


def format_of(name: str | None) -> str:
    """Return the format that the ending of a name means; SVG if it means none."""
    ending = (name or "").rpartition(".")[2].lower()
    return ending if ending in (*FORMATS, "html") else "svg"


def tell_unfollowed(diagram: Diagram, streams: Streams) -> None:
    """Print the hints of the plan that the drawing does not follow."""
    for finding in diagram.unfollowed:
        streams.complain(f"trappoint: {finding.message} {finding.fix}")
