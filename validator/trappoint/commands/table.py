"""Print the locking table of a plan.

Where the plan cannot be understood there is none: then the findings go to standard error.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.checking import PlanError, check
from trappoint.commands import FAULT, FOUND, OK, WIDTH, WRONG_WORDS
from trappoint.commands.gathering import STANDARD_INPUT, Source, read_standard_input
from trappoint.commands.many import settings_beside
from trappoint.files import files_beside
from trappoint.reading import UnusableFile
from trappoint.reporting import TABLE_REPORTERS, Look, reporter, table_reporter
from trappoint.reporting.wording import count_findings, name_of
from trappoint.settings_file import SettingsError

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.checking import Report
    from trappoint.commands.streams import Streams


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
    try:
        content = read_standard_input() if name == STANDARD_INPUT else Source(name).read()
        settings = settings_beside(name)
    except (UnusableFile, SettingsError) as error:
        streams.complain(f"trappoint: {error}")
        return WRONG_WORDS
    report = check(content, name=name, settings=settings, files=files_beside(name))
    look = Look(width=streams.width(WIDTH), encoding=streams.encoding)
    table = report.table
    if table is None:
        streams.complain("".join(reporter("text")([report], look)).rstrip())
        return FAULT if report.fault is not None else FOUND
    if options.frame and report.layout is not None:
        from trappoint.reporting.frame_text import render_frame

        try:
            streams.say(render_frame(report.layout, options.format, settings=settings))
        except PlanError as error:
            told = [f"{finding.message} {finding.fix}" for finding in error.findings]
            streams.complain(f"trappoint: {name}: {' '.join(told)}")
            return FOUND
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
