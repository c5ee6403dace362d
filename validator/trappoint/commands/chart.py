"""Make the sheet for the wall by the layout: diagram, a line for each arm, conflicts, scenes.

One page of HTML that needs nothing else; print it on A4 or A3, or open it on any screen. The same
as PDF, where the file's name ends in .pdf.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.commands import OK, WRONG_WORDS
from trappoint.commands.draw import (
    tell_more,
    tell_unfollowed,
    tell_unreadable,
    write_file,
)
from trappoint.commands.many import read_plan
from trappoint.drawing import SHEETS, draw
from trappoint.drawing.export import NotInstalled
from trappoint.drawing.hints import has_hints

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.commands.streams import Streams


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    parser.add_argument("file", metavar="PLAN", help="a plan, or - for standard input")
    parser.add_argument(
        "-o",
        "--output",
        metavar="FILE",
        help="where to write it: HTML, or PDF where FILE ends in .pdf (default: standard output)",
    )
    parser.add_argument(
        "--sheet",
        choices=SHEETS,
        default="a4",
        help="fold a long plan so that it can be read on this sheet (default: a4)",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Write the sheet and return the exit code."""
    report = read_plan(options.file, streams)
    if report is None:
        return WRONG_WORDS
    if report.layout is None:
        return tell_unreadable(report, streams)
    if _is_pdf(options.output):
        from trappoint.drawing.chart_pdf import chart_pdf

        try:
            content = chart_pdf(report, sheet=options.sheet)
        except NotInstalled as missing:
            streams.complain(f"trappoint: {missing}")
            return WRONG_WORDS
    else:
        from trappoint.drawing.chart import write_chart

        content = write_chart(report, sheet=options.sheet).encode("ascii")
    if options.output is None:
        streams.say(content.decode("ascii"))
    elif not write_file(options.output, content, streams):
        return WRONG_WORDS
    if has_hints(report.layout):
        tell_unfollowed(draw(report.layout, widest=SHEETS[options.sheet]), streams)
    tell_more(report, options.file, streams, marked=False)
    return OK


def _is_pdf(name: str | None) -> bool:
    return name is not None and name.lower().endswith(".pdf")
