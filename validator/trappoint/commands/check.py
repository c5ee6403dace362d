"""Check plans: say whether each holds, and what else there is to say.

Findings go to standard output, complaints about files to standard error.
"""

from __future__ import annotations

from argparse import ArgumentTypeError
from dataclasses import replace
from typing import TYPE_CHECKING

from trappoint.commands import FAULT, FOUND, OK, WIDTH, WRONG_WORDS
from trappoint.commands.gathering import gather
from trappoint.commands.many import Unusable, check_each
from trappoint.findings import LEVELS, reaches
from trappoint.reporting import REPORTERS, Look, reporter

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from collections.abc import Iterable, Iterator

    from trappoint.checking import Report
    from trappoint.commands.many import Outcome
    from trappoint.commands.streams import Streams
    from trappoint.findings import Level


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    parser.add_argument(
        "files",
        nargs="+",
        metavar="FILE",
        help="a plan, a folder of plans (*.layout.json), or - for standard input",
    )
    parser.add_argument(
        "--format", choices=REPORTERS, default="text", help="how to print it (default: text)"
    )
    parser.add_argument(
        "--fail-on",
        choices=LEVELS[::-1],
        default="error",
        metavar="LEVEL",
        help="the least level that makes the exit code 1: error (default), warning or note",
    )
    parser.add_argument(
        "--quiet",
        action="store_true",
        help="print only findings at or above that level, and only files that have some",
    )
    parser.add_argument(
        "--colour",
        "--color",
        choices=("auto", "always", "never"),
        default="auto",
        help="whether to print in colour (default: auto, on a terminal without NO_COLOR)",
    )
    parser.add_argument(
        "--jobs", type=_count, default=1, metavar="N", help="check N plans at a time (default: 1)"
    )


def run(options: Namespace, streams: Streams) -> int:
    """Check the plans and return the exit code."""
    sources, complaints = gather(options.files)
    watch = _Watch(options.fail_on, quiet=options.quiet, streams=streams)
    for complaint in complaints:
        watch.complain(complaint)
    look = Look(
        colour=streams.colour(options.colour),
        width=streams.width(WIDTH),
        encoding=streams.encoding,
    )
    reports = watch.pass_on(check_each(sources, options.jobs))
    for piece in reporter(options.format)(reports, look):
        streams.say(piece)
    return watch.exit_code


class _Watch:
    """Stands between the checks and the reporter, and works out the exit code on the way."""

    def __init__(self, floor: Level, *, quiet: bool, streams: Streams) -> None:
        self.floor = floor
        self.quiet = quiet
        self.streams = streams
        self.exit_code = OK

    def complain(self, text: str) -> None:
        """Say on standard error what could not be used."""
        self.streams.complain(f"trappoint: {text}")
        self.exit_code = max(self.exit_code, WRONG_WORDS)

    def pass_on(self, outcomes: Iterable[Outcome]) -> Iterator[Report]:
        """Pass on the reports that are to be printed."""
        for outcome in outcomes:
            if isinstance(outcome, Unusable):
                self.complain(outcome.complaint)
                continue
            grave = tuple(f for f in outcome.findings if reaches(f.level, self.floor))
            if grave:
                self.exit_code = max(self.exit_code, FOUND)
            if outcome.fault is not None:
                self.streams.complain(
                    f"trappoint: {outcome.file}: a fault of the program, in {outcome.fault}."
                )
                self.exit_code = max(self.exit_code, FAULT)
            if not self.quiet:
                yield outcome
            elif grave or outcome.fault is not None:
                yield replace(outcome, findings=grave)


def _count(word: str) -> int:
    if not word.isascii() or not word.isdigit() or not 0 < int(word[:9]) < 1000:
        raise ArgumentTypeError(f"{word!r} is not a number from 1 to 999")
    return int(word)
