"""Print the fitting sheet of a plan: where to drill for each post, and in which order to fit them.

With a store it tells too which signals can be fitted today, with the parts in hand.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.commands import FOUND, OK, WIDTH, WRONG_WORDS
from trappoint.commands.gathering import STANDARD_INPUT
from trappoint.commands.many import read_plan
from trappoint.reporting import Look
from trappoint.reporting.wording import name_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.commands.streams import Streams
    from trappoint.erecting.sheet import Sheet, Today
    from trappoint.facts import Facts
    from trappoint.parts import Store

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
    from trappoint.erecting.sheet import derive_sheet

    if options.file == options.store == STANDARD_INPUT:
        streams.complain("trappoint: only one of plan and store can come by standard input.")
        return WRONG_WORDS
    report = read_plan(options.file, streams)
    if report is None:
        return WRONG_WORDS
    table, facts = report.table, report.facts
    if table is None or facts is None:
        return tell_unreadable(report, streams)
    sheet = derive_sheet(facts, table, facts.layout.title or name_of(report.file))
    if options.store is not None:
        today = _ask_store(options.store, facts, sheet, streams)
        if isinstance(today, int):
            return today
        sheet = sheet._replace(today=today)
    look = Look(width=streams.width(WIDTH), encoding=streams.encoding)
    streams.say(_render(sheet, look, options.format))
    tell_more(report, options.file, streams, marked=False)
    return OK


def _ask_store(name: str, facts: Facts, sheet: Sheet, streams: Streams) -> Today | int:
    """Ask what the store allows; where that can not be told, say why and return the exit code."""
    from trappoint.commands.parts import read_store_file
    from trappoint.parts import NotInstalled

    store = read_store_file(name, streams)
    if isinstance(store, int):
        return store
    try:
        today = _today(facts, sheet, store)
    except NotInstalled as missing:
        streams.complain(f"trappoint: {missing}")
        return WRONG_WORDS
    if today is None:
        streams.complain(
            "trappoint: no way was found to get the parts: `trappoint parts` says why."
        )
        return FOUND
    return today


def _today(facts: Facts, sheet: Sheet, store: Store) -> Today | None:
    """Ask which signals can be fitted at once; None where there is no way to the parts."""
    from trappoint.commands.parts import MOST_SECONDS
    from trappoint.erecting.order import order_of_work
    from trappoint.erecting.sheet import Today
    from trappoint.parts import SignalKey, demand_of, plan_parts
    from trappoint.parts.at_hand import ready_now
    from trappoint.parts.waiting import tell_waiting

    with tell_waiting("Looking for the least cost"):
        answer = plan_parts(store, demand_of([("", facts.layout)]), seconds=MOST_SECONDS)
    scheme = answer.scheme or answer.rest
    if scheme is None:
        return None
    order = [SignalKey("", stage.signal) for stage in sheet.work.stages]
    found = ready_now(scheme, store, order)
    made = {
        ready.key.signal: tuple(recipe.name or recipe.id for recipe in ready.steps)
        for ready in found.ready
    }
    waiting = {key.signal: bill for key, bill in found.waiting}
    waiting.update((key.signal, {}) for key in answer.drop)
    return Today(order_of_work(facts.layout, facts.settings, list(made)), made, waiting)


def _render(sheet: Sheet, look: Look, form: str) -> str:
    if form == "html":
        from trappoint.reporting.erect_html import render

        return render(sheet, look)
    from trappoint.reporting import erect_text

    renderers = {
        "text": erect_text.render_text,
        "csv": erect_text.render_csv,
        "json": erect_text.render_json,
    }
    return renderers[form](sheet, look)
