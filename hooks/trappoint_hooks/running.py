"""How every hook here runs: its words, its streams, and what it says when it fails."""

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
"""Columns: git puts ``remote: `` before what a hook on a server says."""


def plain_parser(program: str, description: str) -> ArgumentParser:
    """Return a parser that knows the version."""
    parser = ArgumentParser(
        program,
        description=description,
        formatter_class=RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"trappoint {__version__}")
    return parser


def parser_for(program: str, description: str) -> ArgumentParser:
    """Return a parser with the options of all hooks that are installed."""
    parser = plain_parser(program, description)
    parser.add_argument(
        "--fail-on",
        choices=LEVELS[::-1],
        default="error",
        metavar="LEVEL",
        help="the least level that stands in the way: error (default), warning or note",
    )
    where = parser.add_mutually_exclusive_group()
    for word, what in (("install", "put the hook into"), ("uninstall", "take it out of")):
        where.add_argument(
            f"--{word}",
            nargs="?",
            const=".",
            metavar="REPOSITORY",
            help=f"{what} a repository (default: the one here), with the other words given",
        )
    return parser


def files_alone(words: Sequence[str]) -> list[str]:
    """Return words with no file among them that looks like an option: ``-a.layout.json``."""
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
    """Run a hook and return its exit code. Nothing is raised, whatever happens.

    0: nothing stands in the way; 1: something does; 2: it could not be used so; 3: a fault of the
    program's own. All but 0 turn aside what was to come.
    """
    try:
        options = parser.parse_args(argv)
    except SystemExit as left:  # argparse leaves so, after --help and after wrong words
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
            f"{program}: this is a fault of the program, not of your plan "
            f"({type(error).__name__}: {visible(str(error))}). Please report it."
        )
        return INTERNAL_ERROR
    finally:
        streams.close()


def set_up(
    options: Namespace, streams: Streams, names: Sequence[str], module: str, words: Sequence[str]
) -> bool:
    """Install or uninstall, if that is what was asked for, and tell whether it was."""
    if options.install is None and options.uninstall is None:
        return False
    from trappoint_hooks.installing import install, uninstall

    if options.install is not None:
        for place in install(options.install, names, module, words):
            streams.say(f"The hook is in {place}.\n")
    else:
        gone = uninstall(options.uninstall, names)
        for place in gone:
            streams.say(f"The hook is out of {place}.\n")
        if not gone:
            streams.say("There was no hook of trappoint's to take away.\n")
    return True


def look_of(streams: Streams) -> RenderOptions:
    """Return how hooks write: narrow, and without colour where nobody sees it."""
    return RenderOptions(streams.colour("auto"), streams.width(WIDTH), streams.encoding)


def say_refusals(refusals: Iterable[HookRefusal], streams: Streams, look: RenderOptions) -> None:
    """Say why something is turned aside, and the caution."""
    from trappoint_hooks.judging import blocks_of

    for refusal in refusals:
        for block in blocks_of(refusal, look):
            streams.say(block + "\n")
    streams.say("\n".join(look.wrap(CAUTION_SHORT)) + "\n")
