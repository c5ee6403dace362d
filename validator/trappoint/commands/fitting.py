"""Print the fitting sheet of a plan: where to drill for each post, and the order of work.

With a store it also lists the signals that can be fitted today, with the parts in hand.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import FINDINGS, OK
from trappoint.app.load import read_plan
from trappoint.commands.shared import (
    add_format,
    add_plan,
    one_from_standard_input,
    plain_look,
    read_store_file,
    tell_more,
    unreadable,
)
from trappoint.core.errors import NoAnswer
from trappoint.core.findings import CAUTION_FITTING
from trappoint.core.terminal import RenderOptions
from trappoint.reporting.wording import title_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.facts.facts import Facts
    from trappoint.fitting.sheet import FittingSheet, Today

FORMATS = ("text", "html", "csv", "json")


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    add_plan(parser)
    parser.add_argument(
        "--store",
        metavar="STORE",
        help="file of parts, NAME.store.json: adds the signals that they allow today "
        "(default: none)",
    )
    add_format(parser, FORMATS)
    parser.epilog = f"CSV has no room for comments, so its caution is here: {CAUTION_FITTING}"


def run(options: Namespace, streams: Streams) -> int:
    """Print the sheet and return the exit code."""
    from trappoint.fitting.sheet import derive_sheet

    one_from_standard_input(options.store, options.file)
    report = read_plan(options.file)
    table, facts = report.table, report.facts
    if table is None or facts is None:
        raise unreadable(report, streams)
    sheet = derive_sheet(facts, table, title_of(report))
    if options.store is not None:
        today = _ask_store(options.store, facts, sheet, streams)
        sheet = sheet._replace(today=today)
    look = plain_look(streams)
    streams.say(_render(sheet, look, options.format))
    tell_more(report, options.file, streams)
    return OK


def _ask_store(name: str, facts: Facts, sheet: FittingSheet, streams: Streams) -> Today:
    """Return the signals that the parts in the store allow. Raises ``NoAnswer``."""
    from trappoint.commands.parts import MAX_SECONDS
    from trappoint.parts.fitted_today import fitted_today
    from trappoint.parts.waiting_notice import tell_waiting

    store = read_store_file(name, streams)
    with tell_waiting("Looking for the lowest cost"):
        today = fitted_today(facts, sheet, store, MAX_SECONDS)
    if today is None:
        raise NoAnswer(
            "trappoint: the parts cannot all be had: `trappoint parts` prints the reason.",
            FINDINGS,
        )
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
