"""Draw the diagram of a plan, as it hangs in a signal box.

The drawing needs no coordinates: all follows from the plan. A plan with errors is drawn as far as
it can be.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import FINDINGS, INTERNAL_ERROR, OK, USAGE_ERROR
from trappoint.app.load import read_plan
from trappoint.core.errors import NotInstalled
from trappoint.core.terminal import WIDTH, RenderOptions
from trappoint.drawing.diagram import SHEETS
from trappoint.drawing.export import FORMATS, to_pdf, to_png
from trappoint.reporting.formats import reporter
from trappoint.reporting.wording import count_findings

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.checking.check import Report
    from trappoint.drawing.diagram import Diagram


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    parser.add_argument("file", metavar="PLAN", help="a plan, or - for standard input")
    parser.add_argument(
        "-o", "--output", metavar="FILE", help="where to write it (default: standard output)"
    )
    parser.add_argument(
        "--format", choices=FORMATS, help="default: what the name of the file ends in, or svg"
    )
    parser.add_argument(
        "--sheet",
        choices=SHEETS,
        default="a4",
        help="fold a long plan so that it can be read on this sheet (default: a4)",
    )
    parser.add_argument(
        "--findings", action="store_true", help="mark what a check finds where it is"
    )


def run(options: Namespace, streams: Streams) -> int:
    """Draw the plan and return the exit code."""
    wanted = options.format or format_of(options.output)
    if options.output is None and wanted != "svg":
        streams.complain(f"trappoint: say where to write the {wanted.upper()}: -o FILE.")
        return USAGE_ERROR
    report = read_plan(options.file, streams)
    if report is None:
        return USAGE_ERROR
    if report.layout is None:
        return tell_unreadable(report, streams)
    from trappoint.drawing.diagram import draw

    widest = SHEETS[options.sheet]
    findings = report.findings if options.findings else ()
    diagram = draw(report.layout, table=report.table, findings=findings, widest=widest)
    if options.findings and diagram.unfollowed:
        findings = (*findings, *diagram.unfollowed)
        diagram = draw(report.layout, table=report.table, findings=findings, widest=widest)
    elif not options.findings:
        tell_unfollowed(diagram, streams)
    if options.output is None:
        streams.say(diagram.svg() + "\n")
    elif not write_drawing(diagram, options.output, wanted, options.sheet, streams):
        return USAGE_ERROR
    tell_more(report, options.file, streams, marked=options.findings)
    return OK


def write_drawing(diagram: Diagram, name: str, wanted: str, sheet: str, streams: Streams) -> bool:
    """Write a drawing to a file. False where that could not be done, which is said."""
    try:
        content = _written(diagram, wanted, sheet)
    except NotInstalled as missing:
        streams.complain(f"trappoint: {missing}")
        return False
    return write_file(name, content, streams)


def _written(diagram: Diagram, wanted: str, sheet: str) -> bytes:
    if wanted == "pdf":
        return to_pdf(diagram.sheets(), sheet)
    svg = diagram.svg()
    return to_png(svg) if wanted == "png" else f"{svg}\n".encode()


def format_of(name: str | None) -> str:
    """Return the format that the ending of a name asks for, SVG where it asks for none."""
    ending = (name or "").rpartition(".")[2].lower()
    return ending if ending in FORMATS else "svg"


def tell_unreadable(report: Report, streams: Streams) -> int:
    """Say why there is nothing to draw, and return the exit code."""
    look = RenderOptions(width=streams.width(WIDTH), encoding=streams.encoding)
    streams.complain("".join(reporter("text")([report], look)).rstrip())
    return INTERNAL_ERROR if report.fault is not None else FINDINGS


def tell_unfollowed(diagram: Diagram, streams: Streams) -> None:
    """Say which hints of the plan could not be followed."""
    for finding in diagram.unfollowed:
        streams.complain(f"trappoint: {finding.message} {finding.fix}")


def tell_more(report: Report, name: str, streams: Streams, *, marked: bool) -> None:
    """Say that a check finds something, unless it was marked on the drawing."""
    if report.findings and not marked:
        streams.complain(
            f"trappoint: there is more to say of this plan ({count_findings(report.findings)}): "
            f"`trappoint check {name}`."
        )


def write_file(name: str, content: bytes, streams: Streams) -> bool:
    """Write a file whole. False where it could not be written, which is said."""
    try:
        with open(name, "wb") as file:  # noqa: PTH123 - pathlib costs start-up
            file.write(content)
    except OSError as error:
        said = (error.strerror or "the system gives no reason").lower()
        streams.complain(f"trappoint: {name} cannot be written: {said}.")
        return False
    return True
