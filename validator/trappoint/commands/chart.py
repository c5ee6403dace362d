"""Make the wall chart: diagram, a line for each arm, conflicts, scenes.

The chart is one page of HTML that needs no other file: print it on A4 or A3, lying or standing, or
open it on any screen. On paper the diagram takes the width, and no letter is lower than 1.8 mm. If
the file's name ends in .pdf, the chart is a PDF. ``--fitting`` and ``--store`` add the places to
drill and the parts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import OK
from trappoint.app.load import read_plan
from trappoint.commands.draw import tell_unfollowed
from trappoint.commands.paper import add_sheet, sheet_meant, tell_unprinted
from trappoint.commands.shared import (
    add_output,
    add_plan,
    one_from_standard_input,
    read_store_file,
    tell_more,
    unreadable,
    write_output,
)
from trappoint.drawing.bench_rows import ExtraRows
from trappoint.drawing.diagram import draw
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
    """Add the arguments and options of the command."""
    add_plan(parser)
    add_output(
        parser, "file for the chart: PDF if it ends in .pdf, else HTML (default: standard output)"
    )
    add_sheet(parser)
    parser.add_argument(
        "--fitting", action="store_true", help="line for each post, with the place to drill"
    )
    parser.add_argument(
        "--store",
        metavar="STORE",
        help="file of parts, NAME.store.json: adds the parts to use, make and buy (default: none)",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Write the chart and return the exit code."""
    report = read_plan(options.file)
    if report.layout is None:
        raise unreadable(report, streams)
    bench = _bench(options, report, report.layout, streams)
    paper = sheet_meant(options)
    if _is_pdf(options.output_file):
        from trappoint.drawing.chart_pdf import chart_pdf

        pdf = chart_pdf(report, sheet=options.sheet, standing=options.standing, bench=bench)
        write_output(options.output_file, pdf.content, streams)
        tell_unprinted(pdf.unprinted, streams)
    else:
        from trappoint.drawing.chart import write_chart

        page = write_chart(report, sheet=options.sheet, standing=options.standing, bench=bench)
        write_output(options.output_file, page.encode("ascii"), streams)
    if has_hints(report.layout):
        tell_unfollowed(draw(report.layout, widest=paper.widest), streams)
    tell_more(report, options.file, streams)
    return OK


def _bench(options: Namespace, report: Report, layout: Layout, streams: Streams) -> ExtraRows:
    """Return the extra rows of the chart: posts and parts."""
    from trappoint.fitting.posts import posts_of

    one_from_standard_input(options.store, options.file)
    posts: Sequence[Post] = ()
    if options.fitting and report.table is None:
        streams.complain("trappoint: this plan cannot be judged, so the chart has no posts.")
    elif options.fitting and report.table is not None:
        posts = posts_of(layout, report.table)
    if options.store is None:
        return ExtraRows(posts)
    parts = _plan_parts(options.store, layout, streams)
    return ExtraRows(posts, parts)


def _plan_parts(name: str, layout: Layout, streams: Streams) -> list[PlanSection]:
    from trappoint.commands.parts import MAX_SECONDS
    from trappoint.parts.demand import demand_of
    from trappoint.parts.reasons import plan_with_reasons
    from trappoint.parts.telling import sections_of
    from trappoint.parts.waiting_notice import tell_waiting

    store = read_store_file(name, streams)
    needs = demand_of([("", layout)])
    with tell_waiting("Looking for the lowest cost"):
        answer = plan_with_reasons(store, needs, seconds=MAX_SECONDS)
    return sections_of(answer, store)


def _is_pdf(name: str | None) -> bool:
    return name is not None and name.lower().endswith(".pdf")
