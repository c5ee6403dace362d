"""The command line: it reads the name of the command and imports that module alone."""

from __future__ import annotations

import gc
import sys
from argparse import ArgumentParser, HelpFormatter
from typing import TYPE_CHECKING

from trappoint.app.exit_codes import INTERNAL_ERROR, INTERRUPTED, USAGE_ERROR
from trappoint.app.streams import NotWritten, Streams
from trappoint.commands.catalogue import COMMANDS
from trappoint.core import by_name
from trappoint.core.errors import CannotUse, NoAnswer
from trappoint.core.terminal import WIDTH
from trappoint.core.version import __version__

if TYPE_CHECKING:
    from collections.abc import Sequence


def main(argv: Sequence[str] | None = None, *, alone: bool | None = None) -> int:
    """Run one command and return its exit code.

    Exit codes: 0 = no findings at or above the chosen level, 1 = findings, 2 = usage error,
    3 = internal error. It never raises an exception. ``alone`` is true if the process does nothing
    else (default: true without ``argv``).
    """
    alone = argv is None if alone is None else alone
    words = list(sys.argv[1:] if argv is None else argv)
    if alone:
        # A search for garbage during the start costs 5 ms of 130.
        gc.disable()
    streams = Streams()
    try:
        code = _run(words, streams)
        streams.flush()
        return code
    except KeyboardInterrupt:
        return INTERRUPTED
    except NoAnswer as error:
        streams.complain(str(error))
        return error.exit_code
    except (CannotUse, NotWritten) as error:
        streams.complain(f"trappoint: {error}")
        return USAGE_ERROR
    except Exception as error:
        streams.complain(f"trappoint: {_tell_fault(error)}")
        return INTERNAL_ERROR
    finally:
        streams.close()
        if alone:
            gc.freeze()  # saves the search at the end, another 4 ms


def _run(words: list[str], streams: Streams) -> int:
    name = words[0] if words else ""
    try:
        if name in COMMANDS:
            return _run_command(name, words[1:], streams)
        return _run_none(words, streams)
    except SystemExit as left:  # argparse exits so, after --help and after usage errors
        return left.code if isinstance(left.code, int) else USAGE_ERROR


def _run_command(name: str, words: list[str], streams: Streams) -> int:
    command = by_name.import_by_name(by_name.COMMANDS, name)
    parser = ArgumentParser(
        f"trappoint {name}",
        description=f"{COMMANDS[name].capitalize()}.",
        formatter_class=_formatter,
        allow_abbrev=False,
    )
    command.add_arguments(parser)
    _add_version(parser)
    code: int = command.run(parser.parse_args(words), streams)
    return code


def _run_none(words: list[str], streams: Streams) -> int:
    """Answer a command line without a command: ``--help``, ``--version``, a misspelt command."""
    if words and not words[0].startswith("-"):
        from trappoint.core.spelling import nearest

        near = nearest(words[0], COMMANDS)
        hint = f" Is {near} meant?" if near else ""
        streams.complain(
            f"trappoint: there is no command {words[0]}.{hint} `trappoint --help` lists them."
        )
        return USAGE_ERROR
    parser = ArgumentParser(
        "trappoint",
        usage="trappoint COMMAND ...",
        description="Check, prove and draw the signalling plans of model railways "
        "(NAME.layout.json).",
        formatter_class=_formatter,
        allow_abbrev=False,
    )
    _add_version(parser)
    group = parser.add_argument_group(
        "commands", "`trappoint COMMAND --help` lists the options of each."
    )
    for name, summary in COMMANDS.items():
        group.add_argument(name, nargs="?", help=summary)
    if not words:
        streams.complain(parser.format_help().rstrip())
        return USAGE_ERROR
    if words[0] in ("-h", "--help"):
        streams.say(parser.format_help())
        return 0
    parser.parse_args(words)
    streams.complain("trappoint: a command is missing. `trappoint --help` lists them.")
    return USAGE_ERROR


def _add_version(parser: ArgumentParser) -> None:
    parser.add_argument("--version", action="version", version=f"trappoint {__version__}")


def _formatter(prog: str) -> HelpFormatter:
    # Without a width, argparse asks the terminal for it, and imports 8 ms of modules to do so.
    return HelpFormatter(prog, width=WIDTH, max_help_position=28)


def _tell_fault(error: Exception) -> str:
    """Return one line on an internal error and its place, for a report to the authors."""
    trace = error.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    place = ""
    if trace is not None:
        module = trace.tb_frame.f_globals.get("__name__", "?")
        place = f" in {module}, line {trace.tb_lineno}"
    return (
        f"internal error{place} ({type(error).__name__}: {error}). It is a fault of the program, "
        "not of your plan. Please report it."
    )
