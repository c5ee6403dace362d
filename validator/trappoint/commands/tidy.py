"""Write plans anew in the one layout, which changes nothing of what they say.

Keys stand in the order of the schema, ids in yours, each thing on one line where it fits; numbers
keep their digits. A plan that cannot be read is left as it is.

What follows by itself need not be said: --short takes it out of a plan, --explicit writes all of it
down. Neither changes what the plan means.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.discovery import STANDARD_INPUT, gather
from trappoint.app.exit_codes import FINDINGS, OK, USAGE_ERROR
from trappoint.checking.report import FileReport
from trappoint.core.terminal import WIDTH, RenderOptions
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
    """Say which words the command takes."""
    parser.add_argument(
        "files",
        nargs="+",
        metavar="FILE",
        help="a plan, a folder of plans (*.layout.json), or - for standard input, which is "
        "written tidy to standard output",
    )
    parser.add_argument(
        "--check",
        action="store_true",
        help="write nothing; name the plans that are not tidy, and exit with 1 if there are any",
    )
    length = parser.add_mutually_exclusive_group()
    length.add_argument(
        "--explicit",
        dest="length",
        action="store_const",
        const="explicit",
        help="write out all that follows by itself: defaults, where signals stand, which road "
        "each arm speaks for",
    )
    length.add_argument(
        "--short",
        dest="length",
        action="store_const",
        const="short",
        help="take out all that would follow by itself anyway",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Tidy the plans and return the exit code."""
    sources, complaints = gather(options.files)
    code = OK
    for complaint in complaints:
        streams.complain(f"trappoint: {complaint}")
        code = USAGE_ERROR
    unreadable: list[Unreadable] = []
    for source in sources:
        try:
            done = _tidy(source, streams, options.length, check=options.check)
        except UnusableFile as error:
            streams.complain(f"trappoint: {error}")
            done = USAGE_ERROR
        if isinstance(done, Unreadable):
            unreadable.append(done)
            done = FINDINGS
        code = max(code, done)
    _tell(unreadable, streams, beside=STANDARD_INPUT in options.files and not options.check)
    return code


def _tidy(
    source: PlanSource, streams: Streams, length: Length | None, *, check: bool
) -> int | Unreadable:
    content = source.read()
    tidied = _written(content, length, source.name)
    if isinstance(tidied, Unreadable):
        return tidied
    tidy = tidied.encode()
    if len(tidy) > LIMIT_BYTES:
        raise UnusableFile(f"{source.name} would be longer than 8 MiB, and stays as it is.")
    if source.name == STANDARD_INPUT and not check:
        streams.say_bytes(tidy)
        return OK
    if tidy == content:
        return OK
    shown = "standard input" if source.name == STANDARD_INPUT else source.name
    if check:
        streams.say(f"{shown} is not tidy.\n")
        return FINDINGS
    write_file(source.name, tidy)
    streams.complain(f"trappoint: {shown} was tidied.")
    return OK


def _written(content: bytes, length: Length | None, name: str) -> str | Unreadable:
    if length is None:
        return tidy_content(content, name)
    from trappoint.tidying.length import write_at_length

    return write_at_length(content, length, name)


def _tell(unreadable: list[Unreadable], streams: Streams, *, beside: bool) -> None:
    """Print what keeps plans from being read; ``beside`` standard output, where a plan is."""
    if not unreadable:
        return
    look = RenderOptions(
        colour=False if beside else streams.colour("auto"),
        width=streams.width(WIDTH),
        encoding=streams.encoding,
    )
    reports = [
        FileReport(found.name, None, found.findings, text=found.text) for found in unreadable
    ]
    told = "".join(reporter("text")(reports, look))
    if beside:
        streams.complain(told.rstrip())
    else:
        streams.say(told)
