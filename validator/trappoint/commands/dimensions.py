"""Print what fits where: trains, fouling places, distants and posts.

What is not measured is not known, and said to be so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import FINDINGS, INTERNAL_ERROR, OK, USAGE_ERROR
from trappoint.app.load import read_plan
from trappoint.core.terminal import WIDTH, RenderOptions
from trappoint.reporting.formats import reporter
from trappoint.reporting.wording import name_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.dimensions.table import Dimensions

FORMATS = ("text", "markdown", "json")


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    parser.add_argument("file", metavar="FILE", help="a plan, or - for standard input")
    parser.add_argument(
        "--format", choices=FORMATS, default="text", help="how to print it (default: text)"
    )


def run(options: Namespace, streams: Streams) -> int:
    """Print what fits and return the exit code."""
    name: str = options.file
    report = read_plan(name, streams)
    if report is None:
        return USAGE_ERROR
    look = RenderOptions(width=streams.width(WIDTH), encoding=streams.encoding)
    if report.facts is None or report.fault is not None or report.facts.too_much:
        streams.complain("".join(reporter("text")([report], look)).rstrip())
        return INTERNAL_ERROR if report.fault is not None else FINDINGS
    from trappoint.dimensions.table import derive_dimensions

    title = report.facts.layout.title or name_of(report.file)
    streams.say(_render(derive_dimensions(report.facts), title, look, options.format))
    return OK


def _render(table: Dimensions, title: str, look: RenderOptions, form: str) -> str:
    if form == "json":
        import json

        from trappoint.core.findings import CAUTION

        return json.dumps({**table.to_json(), "caution": CAUTION}, indent=2) + "\n"
    if form == "markdown":
        from trappoint.reporting.dimensions_markdown import render
    else:
        from trappoint.reporting.dimensions_text import render
    return render(table, title, look)
