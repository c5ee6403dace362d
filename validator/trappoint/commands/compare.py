"""Compare two plans: list the changes in railway terms, not those of the text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.discovery import STANDARD_INPUT, read_standard_input
from trappoint.app.exit_codes import FINDINGS, INTERNAL_ERROR, OK, USAGE_ERROR
from trappoint.app.load import settings_beside
from trappoint.comparing.comparison import compare
from trappoint.comparing.revisions import files_around, is_revision, read_revision
from trappoint.comparing.sides import read_side
from trappoint.core.by_name import COMPARE_REPORTERS, import_by_name
from trappoint.core.errors import CannotUse
from trappoint.core.terminal import WIDTH, RenderOptions
from trappoint.source.reading import read_file

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.comparing.model import Comparison


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    parser.add_argument(
        "old",
        metavar="OLD",
        help="older plan: a file, - for standard input, or REV:PATH for a version in git "
        "(HEAD:station.layout.json; :station.layout.json is the staged one)",
    )
    parser.add_argument("new", metavar="NEW", help="newer plan, given like OLD")
    parser.add_argument(
        "--format",
        choices=COMPARE_REPORTERS,
        default="text",
        help="output format (default: text)",
    )
    parser.add_argument(
        "--exit-code",
        action="store_true",
        help="exit 1 if the plans differ in railway terms (default: exit 0)",
    )
    parser.add_argument(
        "--colour",
        "--color",
        choices=("auto", "always", "never"),
        default="auto",
        help="colour of the output (default: auto, on a terminal without NO_COLOR)",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Compare the plans and return the exit code.

    It is 2 if either cannot be read as a plan, so that they cannot be compared.
    """
    if options.old == options.new == STANDARD_INPUT:
        raise CannotUse("only one of the two plans can be standard input.")
    contents = _read(options.old), _read(options.new)
    # The same settings for both, so that only changes of the plan make a difference.
    settings = settings_beside(_path(options.new))
    sides = [
        read_side(content, word, settings, files_around(word))
        for content, word in zip(contents, (options.old, options.new), strict=True)
    ]
    comparison = compare(*sides)
    look = RenderOptions(streams.colour(options.colour), streams.width(WIDTH), streams.encoding)
    streams.say(rendered(comparison, options.format, look))
    return _exit_code(comparison, asked=options.exit_code)


def rendered(comparison: Comparison, form: str, look: RenderOptions) -> str:
    """Return a comparison in one of the formats."""
    text: str = import_by_name(COMPARE_REPORTERS, form).render(comparison, look)
    return text


def _read(word: str) -> bytes:
    if word == STANDARD_INPUT:
        return read_standard_input()
    return read_revision(word) if is_revision(word) else read_file(word)


def _path(word: str) -> str:
    return word.partition(":")[2].removeprefix("./") if is_revision(word) else word


def _exit_code(comparison: Comparison, *, asked: bool) -> int:
    if comparison.old.report.fault is not None or comparison.new.report.fault is not None:
        return INTERNAL_ERROR
    if comparison.same != "bytes" and comparison.names is None:
        return USAGE_ERROR
    return FINDINGS if asked and comparison.differ else OK
