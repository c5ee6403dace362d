"""Make the sheet for the wall by the layout: diagram, a line for each arm, conflicts, scenes.

One page of HTML that needs nothing else; print it on A4 or A3, or open it on any screen. The same
as PDF, where the file's name ends in .pdf. Where to drill and what parts to use are shown too, if
asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import OK
from trappoint.app.load import read_plan
from trappoint.commands.draw import tell_unfollowed
from trappoint.commands.shared import (
    add_output,
    add_plan,
    one_from_standard_input,
    read_store_file,
    tell_more,
    unreadable,
    write_output,
)
from trappoint.drawing.chart_tables import ExtraRows
from trappoint.drawing.diagram import SHEETS, draw
from trappoint.drawing.hints import has_hints

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from collections.abc import Sequence

    from trappoint.app.streams import Streams
    from trappoint.checking.report import Report
    from trappoint.fitting.posts import Post
    from trappoint.model.layout import Layout
    from trappoint.parts.telling import PlanSection


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    add_plan(parser)
    add_output(
        parser, "where to write it: HTML, or PDF where FILE ends in .pdf (default: standard output)"
    )
    parser.add_argument(
        "--sheet",
        choices=SHEETS,
        default="a4",
        help="fold a long plan so that it can be read on this sheet (default: a4)",
    )
    parser.add_argument(
        "--fitting", action="store_true", help="show a line for each post: where to drill for it"
    )
    parser.add_argument(
        "--store", metavar="STORE", help="show which parts of this store to use, make and buy"
    )


def run(options: Namespace, streams: Streams) -> int:
    """Write the sheet and return the exit code."""
    report = read_plan(options.file)
    if report.layout is None:
        raise unreadable(report, streams)
    bench = _bench(options, report, report.layout, streams)
    if _is_pdf(options.output_file):
        from trappoint.drawing.chart_pdf import chart_pdf

        content = chart_pdf(report, sheet=options.sheet, bench=bench)
    else:
        from trappoint.drawing.chart import write_chart

        content = write_chart(report, sheet=options.sheet, bench=bench).encode("ascii")
    write_output(options.output_file, content, streams)
    if has_hints(report.layout):
        tell_unfollowed(draw(report.layout, widest=SHEETS[options.sheet]), streams)
    tell_more(report, options.file, streams)
    return OK


def _bench(options: Namespace, report: Report, layout: Layout, streams: Streams) -> ExtraRows:
    """Return what the sheet is to show for the bench."""
    from trappoint.fitting.posts import posts_of

    one_from_standard_input(options.store, options.file)
    posts: Sequence[Post] = ()
    if options.fitting and report.table is None:
        streams.complain("trappoint: this plan cannot be judged: the sheet has no line for a post.")
    elif options.fitting and report.table is not None:
        posts = posts_of(layout, report.table)
    if options.store is None:
        return ExtraRows(posts)
    parts = _plan_parts(options.store, layout, streams)
    return ExtraRows(posts, parts)


def _plan_parts(name: str, layout: Layout, streams: Streams) -> list[PlanSection]:
    from trappoint.commands.parts import MAX_SECONDS
    from trappoint.parts.demand import demand_of
    from trappoint.parts.planning import plan_parts
    from trappoint.parts.telling import sections_of
    from trappoint.parts.waiting_notice import tell_waiting

    store = read_store_file(name, streams)
    needs = demand_of([("", layout)])
    with tell_waiting("Looking for the least cost"):
        answer = plan_parts(store, needs, seconds=MAX_SECONDS)
    return sections_of(answer, store)


def _is_pdf(name: str | None) -> bool:
    return name is not None and name.lower().endswith(".pdf")
