"""Print the locking table of a plan.

A plan that cannot be understood has none: its findings go to standard error.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import FINDINGS, OK
from trappoint.app.load import read_plan
from trappoint.commands.shared import (
    add_format,
    add_plan,
    plain_look,
    tell_more,
    unreadable,
)
from trappoint.core.errors import NoAnswer, PlanError
from trappoint.core.findings import CAUTION
from trappoint.reporting.formats import TABLE_REPORTERS, table_reporter
from trappoint.reporting.wording import title_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    add_plan(parser)
    add_format(parser, TABLE_REPORTERS)
    parser.add_argument(
        "--frame",
        action="store_true",
        help="locking of the lever frame, in place of the table of arms",
    )
    parser.epilog = f"CSV has no room for comments, so its caution is here: {CAUTION}"


def run(options: Namespace, streams: Streams) -> int:
    """Print the table and return the exit code."""
    name: str = options.file
    report = read_plan(name)
    look = plain_look(streams)
    table = report.table
    if table is None:
        raise unreadable(report, streams)
    if options.frame and report.facts is not None:
        from trappoint.reporting.frame_text import render_frame

        facts = report.facts
        try:
            streams.say(render_frame(facts.layout, options.format, settings=facts.settings))
        except PlanError as error:
            told = [f"{finding.message} {finding.fix}" for finding in error.findings]
            raise NoAnswer(f"trappoint: {name}: {' '.join(told)}", FINDINGS) from None
    else:
        streams.say(table_reporter(options.format)(table, title_of(report), look))
    tell_more(report, name, streams)
    return OK
