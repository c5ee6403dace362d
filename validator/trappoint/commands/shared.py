"""What commands share: options that many of them take, files that they read and write, last words.

Whatever keeps a command from its answer is raised: ``CannotUse`` and its kinds, or ``NoAnswer``;
``cli.py`` alone prints the complaint and returns the exit code.
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


def add_plan(parser: ArgumentParser, metavar: str = "PLAN") -> None:
    """Let a command take one plan, as ``options.file``."""
    parser.add_argument("file", metavar=metavar, help="a plan, or - for standard input")


def add_format(
    parser: ArgumentParser, formats: Iterable[str], told: str = "how to print it (default: text)"
) -> None:
    """Let a command take ``--format``, one of these; text is the default."""
    parser.add_argument("--format", choices=tuple(formats), default="text", help=told)


STANDARD_OUTPUT = "-"


def add_output(
    parser: ArgumentParser, told: str = "where to write it (default: standard output)"
) -> None:
    """Let a command take ``-o FILE``, as ``options.output_file``."""
    parser.add_argument("-o", "--output-file", metavar="FILE", help=told)


def write_output(target: str | None, content: bytes, streams: Streams) -> None:
    """Write what a command makes: into a file, or to standard output (None and ``-``).

    Raises ``CannotUse`` where the file cannot be written; then it is as it was.
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
    """The least that it can be: a usage error if a named file cannot be used."""


def add_plans(parser: ArgumentParser, told: str) -> None:
    """Let a command take many plans, and say which settings are theirs: for ``plans_meant``."""
    parser.add_argument("files", nargs="+", metavar="FILE", help=told)
    parser.add_argument(
        "--exclude",
        action="append",
        type=_pattern,
        default=[],
        metavar="PATTERN",
        help="leave out the plans that match, as in .gitignore; seen from the current folder; may "
        "be repeated (default: what `exclude` in the settings names is left out)",
    )
    parser.add_argument(
        "--config",
        metavar="FILE",
        help="settings for all plans (default: trappoint.toml or pyproject.toml beside each plan "
        "or in a folder above)",
    )
    parser.add_argument(
        "--stdin-filename",
        metavar="NAME",
        help="name of standard input in reports; its boards and settings are those beside NAME",
    )


def plans_meant(
    options: Namespace,
    streams: Streams,
    *,
    quiet: bool = False,
    wanted: Callable[[str], bool] = is_plan,
) -> PlansMeant:
    """Return the plans that are meant; what cannot be used is printed on standard error.

    So is which of the named files are excluded, unless ``quiet``. ``wanted`` is as for
    ``gather``. Raises ``CannotUse``.
    """
    overrides = Overrides(options.config, tuple(options.exclude))
    found, complaints = gather(options.files, wanted)
    sources: list[PlanSource] = []
    for source in _with_name_of_input(found, options):
        try:
            excluded = is_excluded(source, overrides)
        except SettingsError as error:
            if str(error) not in complaints:
                complaints.append(str(error))
            continue
        if source.content is not None or not excluded:
            sources.append(source)
        elif not quiet and source.name in options.files:
            streams.complain(f"trappoint: {source.name} is excluded, and is left out.")
    for complaint in complaints:
        complain(complaint, streams)
    if found and not sources and not complaints and not quiet:
        streams.complain("trappoint: Every plan is excluded.")
    return PlansMeant(sources, overrides, USAGE_ERROR if complaints else OK)


def complain(complaint: str, streams: Streams) -> int:
    """Print what could not be used, and return the exit code for that."""
    streams.complain(f"trappoint: {complaint}")
    return USAGE_ERROR


def _with_name_of_input(sources: list[PlanSource], options: Namespace) -> list[PlanSource]:
    """Give standard input its name; it stands for the file of that name, if that is meant too."""
    name: str | None = options.stdin_filename
    if name is None:
        return sources
    if STANDARD_INPUT not in options.files or not os.path.basename(name):  # noqa: PTH119
        raise CannotUse("--stdin-filename is the name of a file that is given as -.")
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
    """Return how to write without colour, as wide as standard output."""
    return RenderOptions(width=streams.width(WIDTH), encoding=streams.encoding)


def coloured_look(streams: Streams) -> RenderOptions:
    """Return how to write in colour, where standard output takes it."""
    return plain_look(streams)._replace(colour=streams.colour("auto"))


def unreadable(report: Report, streams: Streams) -> NoAnswer:
    """Return the exception to raise where findings keep an answer back."""
    told = "".join(reporter("text")([report.for_printing()], plain_look(streams))).rstrip()
    return NoAnswer(told, INTERNAL_ERROR if report.fault is not None else FINDINGS)


def tell_more(report: Report, name: str, streams: Streams) -> None:
    """Say that a check finds something, if it does."""
    if report.findings:
        streams.complain(
            f"trappoint: there is more to say of this plan ({count_findings(report.findings)}): "
            f"`trappoint check {name}`."
        )


def one_from_standard_input(store: str | None, *plans: str) -> None:
    """Raise ``CannotUse`` where both a plan and the store are to come by standard input."""
    if store == STANDARD_INPUT and STANDARD_INPUT in plans:
        raise CannotUse("only one of plan and store can come by standard input.")


def read_store_file(name: str, streams: Streams) -> Store:
    """Read a store. Raises ``CannotUse`` or, where it has findings, ``NoAnswer``."""
    from trappoint.parts.store_reading import read_store

    content = read_standard_input() if name == STANDARD_INPUT else read_file(name)
    report = read_store(content, name)
    if report.store is not None:
        return report.store
    from trappoint.reporting.excerpt import SourceLines
    from trappoint.reporting.findings_text import render_finding

    lines, look = SourceLines(report.text or ""), plain_look(streams)
    told = [render_finding(name, finding, lines, look) for finding in report.findings]
    told.append(f"trappoint: {name} is no store yet: {count_findings(report.findings)}.")
    raise NoAnswer("\n".join(told), FINDINGS)
