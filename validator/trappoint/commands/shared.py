"""Code shared by commands: common options, reading and writing of files, common messages.

If a command cannot answer, it raises ``NoAnswer``, or ``CannotUse`` or one of its subclasses.
``cli.py`` alone prints the error and returns the exit code.
"""

from __future__ import annotations

import os.path
from argparse import ArgumentTypeError
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.discovery import STANDARD_INPUT, PlanSource, gather, read_standard_input
from trappoint.app.exit_codes import FINDINGS, INTERNAL_ERROR, OK, USAGE_ERROR
from trappoint.app.load import Overrides, is_excluded
from trappoint.config.settings_file import SettingsError
from trappoint.core.errors import CannotUse, NoAnswer
from trappoint.core.terminal import WIDTH, RenderOptions
from trappoint.reporting.formats import reporter
from trappoint.reporting.wording import count_findings
from trappoint.source.files import is_plan
from trappoint.source.reading import read_file

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from collections.abc import Callable, Iterable

    from trappoint.app.streams import Streams
    from trappoint.checking.report import Report
    from trappoint.parts.store import Store


def add_plan(parser: ArgumentParser) -> None:
    """Add the argument PLAN, one plan, as ``options.file``."""
    parser.add_argument("file", metavar="PLAN", help="a plan, or - for standard input")


def add_format(parser: ArgumentParser, formats: Iterable[str]) -> None:
    """Add the option ``--format`` with these formats; the default is text."""
    parser.add_argument(
        "--format", choices=tuple(formats), default="text", help="output format (default: text)"
    )


STANDARD_OUTPUT = "-"


def add_output(
    parser: ArgumentParser, help_text: str = "file for the output (default: standard output)"
) -> None:
    """Add the option ``-o FILE``, as ``options.output_file``."""
    parser.add_argument("-o", "--output-file", metavar="FILE", help=help_text)


def write_output(target: str | None, content: bytes, streams: Streams) -> None:
    """Write the output of a command into a file, or to standard output (None and ``-``).

    Raises ``CannotUse`` if the file cannot be written; then it is unchanged.
    """
    if target is None or target == STANDARD_OUTPUT:
        streams.say_bytes(content)
        return
    from trappoint.source.writing import write_file

    write_file(target, content)


class PlansMeant(NamedTuple):
    """The plans that a command line means."""

    sources: list[PlanSource]
    overrides: Overrides
    exit_code: int
    """The lowest exit code possible: a usage error if a named file cannot be used."""
    excluded: int
    """The number of named files that are excluded."""


def add_plans(parser: ArgumentParser, help_text: str) -> None:
    """Add the arguments and options for many plans and their settings: see ``plans_meant``."""
    parser.add_argument("files", nargs="+", metavar="FILE", help=help_text)
    parser.add_argument(
        "--exclude",
        action="append",
        type=_pattern,
        default=[],
        metavar="PATTERN",
        help="pattern of plans to leave out, as in .gitignore, relative to the current folder; "
        "may be repeated (default: the patterns in `exclude` of the settings)",
    )
    parser.add_argument(
        "--config",
        metavar="FILE",
        help="file of settings for all plans (default: trappoint.toml or pyproject.toml beside "
        "each plan or in a folder above)",
    )
    parser.add_argument(
        "--stdin-filename",
        metavar="NAME",
        help="name of standard input in reports; its boards and settings are those beside NAME "
        "(default: none)",
    )


def plans_meant(
    options: Namespace,
    streams: Streams,
    *,
    quiet: bool = False,
    wanted: Callable[[str], bool] = is_plan,
) -> PlansMeant:
    """Return the plans that a command line means; print errors about files on standard error.

    Unless ``quiet``, named files that are excluded are printed too. ``wanted`` is as for
    ``gather``. Raises ``CannotUse``.
    """
    overrides = Overrides(options.config, tuple(options.exclude))
    found, complaints = gather(options.files, wanted)
    sources: list[PlanSource] = []
    left_out = 0
    for source in _with_name_of_input(found, options):
        try:
            excluded = is_excluded(source, overrides)
        except SettingsError as error:
            if str(error) not in complaints:
                complaints.append(str(error))
            continue
        if source.content is not None or not excluded:
            sources.append(source)
        elif source.name in options.files:
            left_out += 1
            if not quiet:
                streams.complain(f"trappoint: {source.name} is excluded.")
    for complaint in complaints:
        complain(complaint, streams)
    if found and not sources and not complaints and not quiet:
        streams.complain("trappoint: every plan is excluded.")
    return PlansMeant(sources, overrides, USAGE_ERROR if complaints else OK, left_out)


def complain(complaint: str, streams: Streams) -> int:
    """Print an error about usage, and return the exit code of a usage error."""
    streams.complain(f"trappoint: {complaint}")
    return USAGE_ERROR


def _with_name_of_input(sources: list[PlanSource], options: Namespace) -> list[PlanSource]:
    """Give standard input its name; it replaces the file of that name."""
    name: str | None = options.stdin_filename
    if name is None:
        return sources
    if STANDARD_INPUT not in options.files or not os.path.basename(name):  # noqa: PTH119
        raise CannotUse("--stdin-filename needs the name of a file, and - among the files.")
    kept = [
        source._replace(name=name) if source.name == STANDARD_INPUT else source
        for source in sources
        if source.name == STANDARD_INPUT or os.path.normpath(source.name) != os.path.normpath(name)
    ]
    return sorted(kept)


def _pattern(word: str) -> str:
    from trappoint.config.exclusion import why_unusable

    why = why_unusable(word)
    if why:
        raise ArgumentTypeError(why)
    return word


def plain_look(streams: Streams) -> RenderOptions:
    """Return the options for text without colour, as wide as standard output."""
    return RenderOptions(width=streams.width(WIDTH), encoding=streams.encoding)


def coloured_look(streams: Streams) -> RenderOptions:
    """Return the options for text in colour if standard output takes it."""
    return plain_look(streams)._replace(colour=streams.colour("auto"))


def unreadable(report: Report, streams: Streams) -> NoAnswer:
    """Return the exception to raise if findings prevent an answer."""
    told = "".join(reporter("text")([report.for_printing()], plain_look(streams))).rstrip()
    return NoAnswer(told, INTERNAL_ERROR if report.fault is not None else FINDINGS)


def tell_more(report: Report, name: str, streams: Streams) -> None:
    """Print the number of findings, if there are any."""
    if report.findings:
        streams.complain(
            f"trappoint: {count_findings(report.findings)}; run `trappoint check {name}`."
        )


def one_from_standard_input(store: str | None, *plans: str) -> None:
    """Raise ``CannotUse`` if both a plan and the store are standard input."""
    if store == STANDARD_INPUT and STANDARD_INPUT in plans:
        raise CannotUse("only one of plan and store can be standard input.")


def read_store_file(name: str, streams: Streams) -> Store:
    """Read a store and print its warnings. Raises ``CannotUse``, or ``NoAnswer`` on an error."""
    from trappoint.parts.store_reading import read_store

    content = read_standard_input() if name == STANDARD_INPUT else read_file(name)
    report = read_store(content, name)
    if report.store is not None:
        for finding in report.findings:
            streams.complain(f"trappoint: {name}:{finding.line}: {finding.message} {finding.fix}")
        return report.store
    from trappoint.reporting.excerpt import SourceLines
    from trappoint.reporting.findings_blocks import render_finding

    lines, look = SourceLines(report.text or ""), plain_look(streams)
    told = [render_finding(name, finding, lines, look) for finding in report.findings]
    told.append(f"trappoint: {name} cannot be used as a store: {count_findings(report.findings)}.")
    raise NoAnswer("\n".join(told), FINDINGS)
