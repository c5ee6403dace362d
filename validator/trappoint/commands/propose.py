"""Propose signals for a plan: the fewest with which it holds that a driver can read.

The plan keeps its signals; --repair changes as few of them as possible. Among signals of the
readable kind the answer is exact, by integer programming: at most three arms to a bracket, discs
for sidings, and no arm that gives leave to run through one platform to the next. If the time limit
ends the search, the output has the bound on the error. A plan put together from boards gets new
signals of its own, for this meet; the files of its boards stay as they are.
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
from trappoint.source.files import files_beside

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.parts.store import Store
    from trappoint.proposing.proposal import Proposal


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    levels = "; ".join(f"{level}: {what}" for level, what in LEVELS.items())
    add_plan(parser)
    parser.add_argument(
        "--level",
        choices=LEVELS,
        default="least",
        help=f"purpose of the signals. {levels} (default: least)",
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
        default=6,
        help="time limit of the search for each proposal, in seconds (default: 6)",
    )
    parser.add_argument(
        "--close",
        metavar="MM",
        type=_count,
        help="at the level at-points: the distance up to which signals are made one, in mm "
        "(default: a long coach in the plan's scale, 328 mm in OO; without a scale 300 mm)",
    )
    parser.add_argument(
        "--store",
        metavar="STORE",
        help="file of parts, NAME.store.json: only signals that can be had are proposed, the "
        "cheapest first; owned parts are free (default: the fewest signals win)",
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
    from trappoint.proposing.pricing import enough_to_be_had
    from trappoint.proposing.proposal import CannotPropose, propose

    name: str = options.file
    content, settings = open_plan(name)
    store = read_store_file(options.store, streams) if options.store else None
    try:
        with tell_waiting("Looking for the fewest signals"):
            proposal = enough_to_be_had(
                max(options.best, options.take),
                lambda count: propose(
                    content,
                    name=name,
                    level=options.level,
                    repair=options.repair,
                    count=count,
                    seconds=options.seconds,
                    close_mm=options.close,
                    files=files_beside(name),
                    settings=settings,
                    store=store,
                ),
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
    return _write(proposal, options, streams, store)


def _write(proposal: Proposal, options: Namespace, streams: Streams, store: Store | None) -> int:
    if not proposal.drafts:
        from trappoint.reporting.propose_parts import passed_over

        told = ["trappoint: no proposal can be had from this store.", *passed_over(proposal, store)]
        raise NoAnswer("\n".join(told), FINDINGS)
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
    if options.format == "json":
        streams.say(propose_json.render(proposal, look))
    else:
        streams.say(propose_text.render(proposal, look, store))
    if options.output_file is not None:
        write_output(options.output_file, text.encode(), streams)
    return OK
