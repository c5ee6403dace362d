"""Rewrite plans in one layout; the data stay the same.

Keys are in the order of the schema, ids in yours, and each thing is on one line if it fits. Numbers
keep their digits. A plan that cannot be read is unchanged.

--short removes values that equal their defaults; --explicit writes them all. The meaning of the
plan stays the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.discovery import STANDARD_INPUT
from trappoint.app.exit_codes import FINDINGS, OK
from trappoint.checking.report import FileReport
from trappoint.commands.shared import add_plans, coloured_look, complain, plain_look, plans_meant
from trappoint.reporting.formats import reporter
from trappoint.source.reading import LIMIT_BYTES, Unreadable, UnusableFile
from trappoint.source.writing import write_file
from trappoint.tidying.tidy import tidy_content

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.discovery import PlanSource
    from trappoint.app.streams import Streams
    from trappoint.tidying.length import Length


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    add_plans(
        parser,
        "a plan, a folder of plans (*.layout.json), or - for standard input (the tidy plan goes "
        "to standard output)",
    )
    parser.add_argument(
        "--check",
        action="store_true",
        help="names of untidy plans only: writes nothing, exits 1 if there are any",
    )
    parser.add_argument(
        "--diff",
        action="store_true",
        help="changes as a unified diff only: writes nothing, exits 1 if there are any",
    )
    length = parser.add_mutually_exclusive_group()
    length.add_argument(
        "--explicit",
        dest="length",
        action="store_const",
        const="explicit",
        help="values that equal their defaults, written out: places of signals, routes of arms "
        "(default: as in the plan)",
    )
    length.add_argument(
        "--short",
        dest="length",
        action="store_const",
        const="short",
        help="no values that equal their defaults (default: as in the plan)",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Tidy the plans and return the exit code."""
    plans = plans_meant(options, streams)
    code = plans.exit_code
    unreadable: list[Unreadable] = []
    for source in plans.sources:
        try:
            done = _tidy(source, streams, options)
        except UnusableFile as error:
            done = complain(str(error), streams)
        if isinstance(done, Unreadable):
            unreadable.append(done)
            done = FINDINGS
        code = max(code, done)
    beside = options.diff or (STANDARD_INPUT in options.files and not options.check)
    _tell(unreadable, streams, beside=beside)
    return code


def _tidy(source: PlanSource, streams: Streams, options: Namespace) -> int | Unreadable:
    content = source.read()
    tidied = _written(content, options.length, source.name)
    if isinstance(tidied, Unreadable):
        return tidied
    tidy = tidied.encode()
    if len(tidy) > LIMIT_BYTES:
        raise UnusableFile(f"{source.name} would be longer than 8 MiB, and is unchanged.")
    if source.content is not None and not (options.check or options.diff):
        streams.say_bytes(tidy)
        return OK
    if tidy == content:
        return OK
    shown = "standard input" if source.name == STANDARD_INPUT else source.name
    if options.diff:
        _say_diff(shown, content, tidy, streams)
        return FINDINGS
    if options.check:
        streams.say(f"{shown} is not tidy.\n")
        return FINDINGS
    write_file(source.name, tidy)
    streams.complain(f"trappoint: {shown} was tidied.")
    return OK


def _say_diff(shown: str, old: bytes, new: bytes, streams: Streams) -> None:
    from trappoint.reporting.tidy_diff import paint_diff, unified_diff

    diff = unified_diff(shown, old.decode(), new.decode())
    look = coloured_look(streams)
    if look.colour:
        streams.say(paint_diff(diff, look))
    else:  # every byte unchanged, so that a program can apply it
        streams.say_bytes(diff.encode(errors="surrogateescape"))


def _written(content: bytes, length: Length | None, name: str) -> str | Unreadable:
    if length is None:
        return tidy_content(content, name)
    from trappoint.tidying.length import write_at_length

    return write_at_length(content, length, name)


def _tell(unreadable: list[Unreadable], streams: Streams, *, beside: bool) -> None:
    """Print the findings of unreadable plans; on standard error if ``beside`` is true."""
    if not unreadable:
        return
    look = plain_look(streams) if beside else coloured_look(streams)
    reports = [
        FileReport(found.name, None, found.findings, text=found.text) for found in unreadable
    ]
    told = "".join(reporter("text")(reports, look))
    if beside:
        streams.complain(told.rstrip())
    else:
        streams.say(told)
