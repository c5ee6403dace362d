"""Print the locking table of a plan.

Where the plan cannot be understood there is none: then the findings go to standard error.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import FINDINGS, INTERNAL_ERROR, OK, USAGE_ERROR
from trappoint.app.load import read_plan
from trappoint.core.errors import PlanError
from trappoint.core.terminal import WIDTH, RenderOptions
from trappoint.reporting.formats import TABLE_REPORTERS, reporter, table_reporter
from trappoint.reporting.wording import count_findings, name_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.checking.check import Report


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    parser.add_argument("file", metavar="FILE", help="a plan, or - for standard input")
    parser.add_argument(
        "--format", choices=TABLE_REPORTERS, default="text", help="how to print it (default: text)"
    )
    parser.add_argument(
        "--frame",
        action="store_true",
        help="print the locking of the lever frame instead, from the plan's levers",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Print the table and return the exit code."""
    name: str = options.file
    report = read_plan(name, streams)
    if report is None:
        return USAGE_ERROR
    look = RenderOptions(width=streams.width(WIDTH), encoding=streams.encoding)
    table = report.table
    if table is None:
        streams.complain("".join(reporter("text")([report], look)).rstrip())
        return INTERNAL_ERROR if report.fault is not None else FINDINGS
    if options.frame and report.facts is not None:
        from trappoint.reporting.frame_text import render_frame

        facts = report.facts
        try:
            streams.say(render_frame(facts.layout, options.format, settings=facts.settings))
        except PlanError as error:
            told = [f"{finding.message} {finding.fix}" for finding in error.findings]
            streams.complain(f"trappoint: {name}: {' '.join(told)}")
            return FINDINGS
    else:
        streams.say(table_reporter(options.format)(table, _title(report), look))
    if report.findings:
        streams.complain(
            f"trappoint: there is more to say of this plan ({count_findings(report.findings)}): "
            f"`trappoint check {name}`."
        )
    return OK


def _title(report: Report) -> str:
    title = report.layout.title if report.layout is not None else ""
    return title or name_of(report.file)
