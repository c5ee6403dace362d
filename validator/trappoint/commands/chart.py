"""Make the sheet for the wall by the layout: diagram, a line for each arm, conflicts, scenes.

One page of HTML that needs nothing else; print it on A4 or A3, or open it on any screen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.commands import OK, WRONG_WORDS
from trappoint.commands.draw import read_plan, tell_more, tell_unreadable, write_file
from trappoint.drawing import SHEETS

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.commands.streams import Streams


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    parser.add_argument("file", metavar="PLAN", help="a plan, or - for standard input")
    parser.add_argument(
        "-o", "--output", metavar="FILE", help="where to write it (default: standard output)"
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
    from trappoint.drawing.chart import write_chart

    page = write_chart(report, sheet=options.sheet)
    if options.output is None:
        streams.say(page)
    elif not write_file(options.output, page.encode("ascii"), streams):
        return WRONG_WORDS
    tell_more(report, options.file, streams, marked=False)
    return OK
