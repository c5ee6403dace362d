"""Print the fitting sheet of a plan: where to drill for each post, and in which order to fit them.

With a store it tells too which signals can be fitted today, with the parts in hand.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.discovery import STANDARD_INPUT
from trappoint.app.exit_codes import FINDINGS, OK, USAGE_ERROR
from trappoint.app.load import read_plan
from trappoint.core.terminal import WIDTH, RenderOptions
from trappoint.reporting.wording import name_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.facts.facts import Facts
    from trappoint.fitting.sheet import FittingSheet, Today

FORMATS = ("text", "html", "csv", "json")


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    parser.add_argument("file", metavar="PLAN", help="a plan, or - for standard input")
    parser.add_argument(
        "--store", metavar="STORE", help="tell what the parts in this store allow today"
    )
    parser.add_argument("--format", choices=FORMATS, default="text", help="default: text")


def run(options: Namespace, streams: Streams) -> int:
    """Print the sheet and return the exit code."""
    from trappoint.commands.draw import tell_more, tell_unreadable
    from trappoint.fitting.sheet import derive_sheet

    if options.file == options.store == STANDARD_INPUT:
        streams.complain("trappoint: only one of plan and store can come by standard input.")
        return USAGE_ERROR
    report = read_plan(options.file, streams)
    if report is None:
        return USAGE_ERROR
    table, facts = report.table, report.facts
    if table is None or facts is None:
        return tell_unreadable(report, streams)
    sheet = derive_sheet(facts, table, facts.layout.title or name_of(report.file))
    if options.store is not None:
        today = _ask_store(options.store, facts, sheet, streams)
        if isinstance(today, int):
            return today
        sheet = sheet._replace(today=today)
    look = RenderOptions(width=streams.width(WIDTH), encoding=streams.encoding)
    streams.say(_render(sheet, look, options.format))
    tell_more(report, options.file, streams, marked=False)
    return OK


def _ask_store(name: str, facts: Facts, sheet: FittingSheet, streams: Streams) -> Today | int:
    """Ask what the store allows; where that can not be told, say why and return the exit code."""
    from trappoint.commands.parts import MAX_SECONDS, read_store_file
    from trappoint.core.errors import NotInstalled
    from trappoint.parts.today import fitted_today
    from trappoint.parts.waiting import tell_waiting

    store = read_store_file(name, streams)
    if isinstance(store, int):
        return store
    try:
        with tell_waiting("Looking for the least cost"):
            today = fitted_today(facts, sheet, store, MAX_SECONDS)
    except NotInstalled as missing:
        streams.complain(f"trappoint: {missing}")
        return USAGE_ERROR
    if today is None:
        streams.complain(
            "trappoint: no way was found to get the parts: `trappoint parts` says why."
        )
        return FINDINGS
    return today


def _render(sheet: FittingSheet, look: RenderOptions, form: str) -> str:
    if form == "html":
        from trappoint.reporting.fitting_html import render

        return render(sheet, look)
    from trappoint.reporting import fitting_text

    renderers = {
        "text": fitting_text.render_text,
        "csv": fitting_text.render_csv,
        "json": fitting_text.render_json,
    }
    return renderers[form](sheet, look)
