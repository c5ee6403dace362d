"""Shared by all hooks: options, installing, output, and errors."""

from __future__ import annotations

import os
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from typing import TYPE_CHECKING

from trappoint.app.exit_codes import INTERNAL_ERROR, USAGE_ERROR
from trappoint.app.streams import NotWritten, Streams
from trappoint.core.errors import CannotUse
from trappoint.core.findings import CAUTION_SHORT, LEVELS
from trappoint.core.quoting import visible
from trappoint.core.terminal import RenderOptions
from trappoint.core.version import __version__
from trappoint.source.files import is_checked
from trappoint.source.git import GitError

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable, Iterable, Sequence

    from trappoint_hooks.judging import HookRefusal

WIDTH = 72
"""The width of output, in columns: git puts ``remote: `` before each line of a server's hook."""


def plain_parser(program: str, description: str) -> ArgumentParser:
    """Return a parser with the option ``--version``."""
    parser = ArgumentParser(
        program,
        description=description,
        formatter_class=RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"trappoint {__version__}")
    return parser


def parser_for(program: str, description: str) -> ArgumentParser:
    """Return a parser with the options that all plain git hooks have."""
    parser = plain_parser(program, description)
    parser.add_argument(
        "--fail-on",
        choices=LEVELS[::-1],
        default="error",
        metavar="LEVEL",
        help="reject on findings at or above LEVEL: error (default), warning or note",
    )
    where = parser.add_mutually_exclusive_group()
    for word, what in (
        ("install", "install the hook in REPOSITORY, with the other options given"),
        ("uninstall", "uninstall the hook from REPOSITORY"),
    ):
        where.add_argument(
            f"--{word}",
            nargs="?",
            const=".",
            metavar="REPOSITORY",
            help=f"{what} (default: that of the current folder)",
        )
    return parser


def no_file_as_option(words: Sequence[str]) -> list[str]:
    """Return arguments in which no file name looks like an option (``-a.layout.json``)."""
    return [
        f".{os.sep}{word}"
        if word.startswith("-") and is_checked(word) and os.path.lexists(word)
        else word
        for word in words
    ]


def run_hook(
    parser: ArgumentParser,
    argv: Sequence[str] | None,
    hook: Callable[[Namespace, Streams], int],
) -> int:
    """Run a hook and return its exit code. Raises nothing.

    0: accepted; 1: rejected; 2: usage error; 3: internal error. Git rejects on all but 0.
    """
    try:
        options = parser.parse_args(argv)
    except SystemExit as left:  # from argparse, after --help and on a usage error
        return left.code if isinstance(left.code, int) else USAGE_ERROR
    streams = Streams()
    return guarded(parser.prog, streams, lambda: hook(options, streams))


def guarded(program: str, streams: Streams, job: Callable[[], int]) -> int:
    """Run a part of a hook and return its exit code, as ``run_hook`` does."""
    try:
        code = job()
        streams.flush()
        return code
    except (GitError, NotWritten, CannotUse) as error:
        streams.complain(f"{program}: {visible(str(error))}")
        return USAGE_ERROR
    except KeyboardInterrupt:
        return 130
    except Exception as error:
        streams.complain(
            f"{program}: internal error, not a fault of your plan "
            f"({type(error).__name__}: {visible(str(error))}). Please report it."
        )
        return INTERNAL_ERROR
    finally:
        streams.close()


def set_up(
    options: Namespace, streams: Streams, names: Sequence[str], module: str, words: Sequence[str]
) -> bool:
    """Install or uninstall the hook if an option says so; return whether one did."""
    if options.install is None and options.uninstall is None:
        return False
    from trappoint_hooks.installing import install, uninstall

    if options.install is not None:
        for place in install(options.install, names, module, words):
            streams.say(f"Installed the hook {place}.\n")
    else:
        gone = uninstall(options.uninstall, names)
        for place in gone:
            streams.say(f"Removed the hook {place}.\n")
        if not gone:
            streams.say("No hook of trappoint is installed.\n")
    return True


def render_options(streams: Streams) -> RenderOptions:
    """Return the options of output: narrow, with colour only on a terminal."""
    return RenderOptions(streams.colour("auto"), streams.width(WIDTH), streams.encoding)


def print_refusals(refusals: Iterable[HookRefusal], streams: Streams, look: RenderOptions) -> None:
    """Print the refusals and the caution."""
    from trappoint.reporting.findings_text import render_plan
    from trappoint_hooks.judging import blocks_of

    reasons: set[str] = set()
    for refusal in refusals:
        report = refusal.report
        blocks = blocks_of(refusal, look) if report is None else render_plan(report, look, reasons)
        for block in blocks:
            streams.say(block + "\n")
    streams.say("\n".join(look.wrap(CAUTION_SHORT)) + "\n")
