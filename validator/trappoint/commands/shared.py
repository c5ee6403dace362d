"""What commands share: words that many of them take, files that they read and write, last words.

Whatever keeps a command from its answer is raised: ``CannotUse`` and its kinds, or ``NoAnswer``;
``cli.py`` alone prints the complaint and returns the exit code.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.discovery import STANDARD_INPUT, read_standard_input
from trappoint.app.exit_codes import FINDINGS, INTERNAL_ERROR
from trappoint.core.errors import CannotUse, NoAnswer
from trappoint.core.terminal import WIDTH, RenderOptions
from trappoint.reporting.formats import reporter
from trappoint.reporting.wording import count_findings
from trappoint.source.reading import read_file

if TYPE_CHECKING:
    from argparse import ArgumentParser
    from collections.abc import Iterable

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
