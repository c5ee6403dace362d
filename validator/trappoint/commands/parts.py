"""Plan the parts: what to use, make and buy for the signals of plans, at the lowest cost.

The plans give the parts that are needed. The store lists the parts that you own, can make or can
buy.
"""

from __future__ import annotations

import os.path
from argparse import ArgumentTypeError
from typing import TYPE_CHECKING

from trappoint.app.discovery import gather
from trappoint.app.exit_codes import FINDINGS, OK
from trappoint.app.load import settings_beside
from trappoint.checking.check import check
from trappoint.commands.shared import (
    add_format,
    coloured_look,
    one_from_standard_input,
    read_store_file,
    unreadable,
)
from trappoint.core.errors import CannotUse
from trappoint.core.findings import CAUTION_FITTING
from trappoint.source.files import files_beside, without_ending

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from collections.abc import Sequence

    from trappoint.app.streams import Streams
    from trappoint.model.layout import Layout
    from trappoint.parts.demand import PartNeed, SignalKey

LISTS = ("plan", "shopping", "bench")

FORMATS = ("text", "markdown", "csv", "json")
"""CSV is for the lists alone: a cell holds one thing, and the whole plan has several tables."""

MAX_SECONDS = 60
"""The default time limit of the search for the lowest cost, in seconds."""


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    parser.add_argument("plans", metavar="PLAN", nargs="+", help="a plan; several share the store")
    parser.add_argument(
        "--store",
        metavar="STORE",
        required=True,
        help="file of parts, NAME.store.json, or - for standard input (required)",
    )
    parser.add_argument(
        "--list",
        choices=LISTS,
        default="plan",
        dest="sheet",
        help="what to print: the whole parts plan; shopping, a list by shop with postage and sums; "
        "or bench, a list by signal with the steps in order (default: plan)",
    )
    add_format(parser, FORMATS)
    parser.epilog = f"CSV has no room for comments, so its caution is here: {CAUTION_FITTING}"
    parser.add_argument(
        "--without",
        metavar="SIGNAL",
        action="append",
        default=[],
        help="signal to leave out; PLAN:SIGNAL if several plans have one of that id; may be "
        "repeated (default: none)",
    )
    parser.add_argument(
        "--at-most",
        metavar="MONEY",
        type=_money,
        help="spending limit in the store's currency, as 25 or 25.50 (default: none)",
    )
    parser.add_argument(
        "--seconds",
        metavar="N",
        type=_seconds,
        default=MAX_SECONDS,
        help="time limit in seconds; a plan that may not be the cheapest then has a bound on the "
        f"saving (default: {MAX_SECONDS})",
    )


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = 0.0
    if not 0 < seconds < float("inf"):
        raise ArgumentTypeError(f"{text} is not a number of seconds, such as 30")
    return seconds


def _money(text: str) -> int:
    from trappoint.parts.money import parse_amount

    try:
        return parse_amount(text)
    except ValueError:
        raise ArgumentTypeError(f"{text} is not an amount of money, such as 25.50") from None


def run(options: Namespace, streams: Streams) -> int:
    """Print the parts plan and return the exit code."""
    from trappoint.parts.demand import demand_of
    from trappoint.parts.reasons import plan_with_reasons
    from trappoint.parts.rendering import render
    from trappoint.parts.waiting_notice import tell_waiting

    if options.format == "csv" and options.sheet == "plan":
        raise CannotUse("CSV is for lists: add `--list shopping` or `--list bench`.")
    one_from_standard_input(options.store, *options.plans)
    store = read_store_file(options.store, streams)
    plans = _read_plans(options.plans, streams)
    needs = demand_of(plans)
    left_out = _left_out(options.without, needs)
    with tell_waiting("Looking for the lowest cost"):
        answer = plan_with_reasons(
            store,
            needs,
            left_out=left_out,
            at_most=options.at_most,
            seconds=options.seconds,
        )
    title = f"for {', '.join(layout.title or name for name, layout in plans)}"
    if store.title:
        title += f", from {store.title}"
    look = coloured_look(streams)
    streams.say(render(options.format, options.sheet, answer, store, title, look))
    return OK if answer.scheme is not None else FINDINGS


def _read_plans(words: list[str], streams: Streams) -> list[tuple[str, Layout]]:
    """Read the plans. Raises ``CannotUse``, ``NoAnswer``."""
    sources, complaints = gather(words)
    if complaints:
        raise CannotUse("\ntrappoint: ".join(complaints))
    short_names = _short_names([source.name for source in sources])
    plans = []
    for source, short in zip(sources, short_names, strict=True):
        name = source.name
        settings, files = settings_beside(name), files_beside(name)
        report = check(source.read(), name=name, settings=settings, files=files)
        if report.layout is None:
            raise unreadable(report, streams)
        if report.holds is not True:
            said = "does not hold" if report.holds is False else "cannot be judged"
            streams.complain(
                f"trappoint: {name} {said}. Mend it before you buy anything: "
                f"`trappoint check {name}`."
            )
        plans.append((short, report.layout))
    return plans


def _short_names(names: Sequence[str]) -> list[str]:
    """Return short names of plans: that of the file; with its folder if two plans share it."""
    short = [without_ending(os.path.basename(name)) for name in names]  # noqa: PTH119
    return [
        one if short.count(one) == 1 else without_ending(name)
        for one, name in zip(short, names, strict=True)
    ]


def _left_out(words: list[str], needs: Sequence[PartNeed]) -> tuple[SignalKey, ...]:
    """Return the signals to leave out. Raises ``CannotUse`` if a word names none, or several."""
    from trappoint.core.spelling import nearest
    from trappoint.parts.demand import signals_of

    keys = signals_of(needs)
    found = []
    for word in words:
        meant = [key for key in keys if word in (key.signal, f"{key.plan}:{key.signal}")]
        if len(meant) == 1:
            found.append(meant[0])
            continue
        if meant:
            ways = " or ".join(f"{key.plan}:{key.signal}" for key in meant)
            raise CannotUse(f"several plans have a signal {word}: write {ways}.")
        near = nearest(word, [key.signal for key in keys])
        hint = f" Is {near} meant?" if near else ""
        raise CannotUse(f"there is no signal {word}.{hint}")
    return tuple(dict.fromkeys(found))
