"""Print the fitting sheet of a plan: where to drill for each post, and the order of work.

With a store it also lists the signals that can be fitted today, with the parts in hand.
"""

from __future__ import annotations

import re
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
from trappoint.core.errors import CannotUse, NoAnswer
from trappoint.core.findings import CAUTION_FITTING
from trappoint.core.terminal import RenderOptions
from trappoint.reporting.wording import title_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.facts.facts import Facts
    from trappoint.fitting.sheet import FittingSheet, Today
    from trappoint.reporting.labels_html import LabelSize

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
    parser.add_argument(
        "--labels",
        nargs="?",
        const="45x20",
        metavar="SIZE",
        help="labels to print and stick on, instead of the sheet: a page of HTML on A4, one label "
        "for each signal, arm and lever; SIZE is their width and height in mm (default: 45x20)",
    )
    parser.epilog = f"CSV has no room for comments, so its caution is here: {CAUTION_FITTING}"


def run(options: Namespace, streams: Streams) -> int:
    """Print the sheet and return the exit code."""
    from trappoint.fitting.sheet import derive_sheet

    one_from_standard_input(options.store, options.file)
    size = None if options.labels is None else _size_of(options.labels)
    report = read_plan(options.file)
    table, facts = report.table, report.facts
    if table is None or facts is None:
        raise unreadable(report, streams)
    sheet = derive_sheet(facts, table, title_of(report))
    if size is not None:
        _say_labels(sheet, size, streams)
        return OK
    if options.store is not None:
        today = _ask_store(options.store, facts, sheet, streams)
        sheet = sheet._replace(today=today)
    look = plain_look(streams)
    streams.say(_render(sheet, look, options.format))
    tell_more(report, options.file, streams)
    return OK


def _size_of(text: str) -> LabelSize:
    """Return the size of labels that a text gives in mm. Raises ``CannotUse``."""
    from trappoint.reporting.labels_html import LEAST_SIZE, LabelSize

    found = re.fullmatch(r"(\d{1,3}(?:\.\d{1,2})?)x(\d{1,3}(?:\.\d{1,2})?)", text)
    size = LabelSize(float(found[1]), float(found[2])) if found else None
    least = LEAST_SIZE
    if size is None or not size.fits_a4 or size.width < least.width or size.height < least.height:
        raise CannotUse(
            f"--labels needs a width and a height in mm, from {least.width}x{least.height} to "
            "190x277, for instance --labels 45x20."
        )
    return size


def _say_labels(sheet: FittingSheet, size: LabelSize, streams: Streams) -> None:
    from trappoint.core.quoting import listed
    from trappoint.reporting.labels_html import render_labels

    labels = render_labels(sheet, size)
    streams.say(labels.page)
    if labels.too_long:
        streams.complain(
            f"trappoint: the words of {listed(list(labels.too_long), 'and')} do not fit: give a "
            "larger size to --labels."
        )


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
