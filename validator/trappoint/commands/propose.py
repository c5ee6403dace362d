"""Propose signals for a plan: the fewest signals and arms with which it holds.

The plan keeps its signals; --repair changes as few of them as possible. The answer is exact, by
integer programming. If the time limit ends the search, the output has the bound on the error.
"""

from __future__ import annotations

from argparse import ArgumentTypeError
from typing import TYPE_CHECKING

from trappoint.app.exit_codes import FINDINGS, OK
from trappoint.app.load import open_plan
from trappoint.checking.report import Report
from trappoint.commands.shared import (
    STANDARD_OUTPUT,
    add_format,
    add_output,
    add_plan,
    read_store_file,
    unreadable,
    write_output,
)
from trappoint.core.errors import CannotUse, NoAnswer, PlanError
from trappoint.core.terminal import WIDTH, RenderOptions
from trappoint.proposing.levels import LEVELS

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.proposing.proposal import Proposal


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    levels = ", ".join(f"{level} ({what})" for level, what in LEVELS.items())
    add_plan(parser)
    parser.add_argument(
        "--level",
        choices=LEVELS,
        default="least",
        help=f"level of signalling: {levels} (default: least)",
    )
    parser.add_argument(
        "--repair",
        action="store_true",
        help="smallest change that mends the plan: add, remove, move, turn or aim signals",
    )
    parser.add_argument(
        "--best",
        metavar="N",
        type=_count,
        default=3,
        help="number of distinct proposals (default: 3)",
    )
    parser.add_argument(
        "--take",
        metavar="N",
        type=_count,
        default=1,
        help="number of the proposal that -o writes (default: 1)",
    )
    parser.add_argument(
        "--seconds",
        metavar="S",
        type=_count,
        default=60,
        help="time limit for each proposal, in seconds (default: 60)",
    )
    parser.add_argument(
        "--store",
        metavar="STORE",
        help="file of parts, NAME.store.json: the cheapest signals win, and owned parts are free "
        "(default: the fewest signals win)",
    )
    add_output(
        parser,
        "file for the plan with its new signals; - for standard output, which then has the plan "
        "alone (default: none)",
    )
    add_format(parser, ("text", "json"))


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 10_000:
        raise ArgumentTypeError(f"{text} is not a number from 1 to 10000")
    return int(text)


def run(options: Namespace, streams: Streams) -> int:
    """Print the proposals, write the plan, and return the exit code."""
    from trappoint.core.errors import NotInstalled
    from trappoint.parts.waiting_notice import tell_waiting
    from trappoint.proposing.proposal import CannotPropose, propose

    name: str = options.file
    content, settings = open_plan(name)
    store = read_store_file(options.store, streams) if options.store else None
    try:
        with tell_waiting("Looking for the fewest signals"):
            proposal = propose(
                content,
                name=name,
                level=options.level,
                repair=options.repair,
                count=max(options.best, options.take),
                seconds=options.seconds,
                settings=settings,
                store=store,
            )
    except PlanError as error:
        raise unreadable(Report(name, None, error.findings), streams) from None
    except CannotPropose as error:
        raise NoAnswer(f"trappoint: {error}", FINDINGS) from None
    except NotInstalled:
        raise CannotUse(
            "proposals need the solver HiGHS, which is not installed: "
            "`pip install 'trappoint[propose]'`."
        ) from None
    return _write(proposal, options, streams)


def _write(proposal: Proposal, options: Namespace, streams: Streams) -> int:
    if options.take > len(proposal.drafts):
        raise CannotUse(
            f"there is no proposal {options.take}: only {len(proposal.drafts)} are distinct."
        )
    text = proposal.drafts[options.take - 1].text
    if options.output_file == STANDARD_OUTPUT:
        write_output(STANDARD_OUTPUT, text.encode(), streams)
        return OK
    from trappoint.reporting import propose_json, propose_text

    look = RenderOptions(
        colour=streams.colour("auto"), width=streams.width(WIDTH), encoding=streams.encoding
    )
    render = propose_json.render if options.format == "json" else propose_text.render
    streams.say(render(proposal, look))
    if options.output_file is not None:
        write_output(options.output_file, text.encode(), streams)
    return OK
