"""Print the measures of a plan: room for trains, fouling places, distants and posts.

A measure that the plan does not give is unknown, and the output marks it so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import OK
from trappoint.app.load import read_plan
from trappoint.commands.shared import add_format, add_plan, plain_look, unreadable
from trappoint.core.by_name import DIMENSIONS_REPORTERS, import_by_name
from trappoint.reporting.wording import title_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    add_plan(parser)
    add_format(parser, DIMENSIONS_REPORTERS)


def run(options: Namespace, streams: Streams) -> int:
    """Print the measures and return the exit code."""
    name: str = options.file
    report = read_plan(name)
    look = plain_look(streams)
    if report.facts is None or report.fault is not None or report.facts.beyond_limits:
        raise unreadable(report, streams)
    from trappoint.dimensions.table import derive_dimensions

    render = import_by_name(DIMENSIONS_REPORTERS, options.format).render
    streams.say(render(derive_dimensions(report.facts), title_of(report), look))
    return OK
