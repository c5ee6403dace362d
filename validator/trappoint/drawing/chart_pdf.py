"""The signal chart as PDF, on A4 or A3, by ``reportlab`` (the extra ``pdf``)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_DRILLING
from trappoint.drawing.bench_rows import DRILL, HEADS, PARTS, ExtraRows, post_rows
from trappoint.drawing.chart import (
    ARMS,
    CONFLICTS,
    CROSSOVERS,
    ERRORS,
    NOTHING_MORE,
    caution_for,
    part_words,
    scale_of,
    who_sees_to_it,
)
from trappoint.drawing.chart_rows import (
    arm_rows,
    blocks_of,
    crossover_rows,
    matrix_rows,
    square_heads,
)
from trappoint.drawing.legend import HOW_SIGNALS_ARE_DRAWN, legend
from trappoint.drawing.paper import diagram_pages, sheet_of
from trappoint.drawing.pdf_maker import PdfMaker
from trappoint.drawing.scene_pictures import scene_pictures
from trappoint.reporting.matrix import legend as conflict_legend
from trappoint.reporting.wording import GRANTED, count_pairs, verdict_of, verdict_of_table

if TYPE_CHECKING:
    from trappoint.checking.report import Report
    from trappoint.drawing.export import Pdf
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Layout


def chart_pdf(
    report: Report,
    *,
    sheet: str = "a4",
    standing: bool = False,
    bench: ExtraRows = NOTHING_MORE,
) -> Pdf:
    """Return the chart of a plan as PDF.

    ``sheet`` is a4, a3 or long, ``standing`` has its short side below. ``bench`` adds rows for
    drilling and parts. Raises ValueError if the report has no layout, NotInstalled if reportlab is
    missing.
    """
    layout, table = report.layout, report.table
    if layout is None:
        raise ValueError("there is no plan to draw")
    paper = sheet_of(sheet, standing=standing)
    pages = diagram_pages(layout, table, paper)
    paper = paper if paper.rows else pages.sheet
    title = layout.title or "Plan without a title"
    maker = PdfMaker(paper, title, first=pages.sheet)
    maker.title(title, scale_of(layout))
    for picture in pages.pictures:
        maker.picture(picture, [part_words(n, picture) for n in range(1, len(picture.crops) + 1)])
    maker.leave_first()
    _add_verdict(maker, report, caution_for(bench))
    if table is not None:
        maker.heading(ARMS)
        heads, rows = arm_rows(layout, table)
        maker.grid(heads, rows, _arm_widths(heads))
        maker.text(" ".join(who_sees_to_it(table)))
    if layout.worked_together:
        maker.heading(CROSSOVERS)
        maker.grid(["Worked together", "Normal", "Reverse"], crossover_rows(layout))
    if table is not None:
        _add_matrix(maker, layout, table)
    if layout.scenes:
        maker.heading("Scenes")
        maker.scenes(scene_pictures(pages.sketch, table, paper.room[0]))
    _add_bench(maker, layout, bench)
    _add_closing(maker, layout, table)
    return maker.build()


def _add_verdict(maker: PdfMaker, report: Report, caution: str) -> None:
    table = report.table
    if table is None:
        maker.text(f"This plan {verdict_of(report)}", bold=True, keep=True)
    else:
        maker.text(
            f"{verdict_of_table(table.holds, table.longest_train)} {count_pairs(table)}",
            bold=True,
            keep=True,
        )
    maker.text(caution)
    errors = [finding for finding in report.findings if finding.level == "error"]
    if errors:
        maker.heading(ERRORS)
    for finding in errors:
        maker.text(finding.message)


def _add_matrix(maker: PdfMaker, layout: Layout, table: LockingTable) -> None:
    arms, square = matrix_rows(table)
    if len(arms) < 2:
        return
    maker.heading(CONFLICTS)
    maker.text(conflict_legend(table))
    names = square_heads(layout, arms)
    for block in blocks_of(names, maker.room[0]):
        maker.square(names, arms, square, block)


def _add_closing(maker: PdfMaker, layout: Layout, table: LockingTable | None) -> None:
    """Add the assumptions and the signs, side by side."""
    with maker.side_by_side():
        if table is not None:
            maker.heading(GRANTED)
            for sentence in table.takes_for_granted:
                maker.text(f"\u2013 {sentence}")
        maker.heading("Signs")
        maker.signs(legend(layout))
        maker.text(HOW_SIGNALS_ARE_DRAWN)


def _add_bench(maker: PdfMaker, layout: Layout, bench: ExtraRows) -> None:
    if bench.posts:
        maker.heading(DRILL)
        rows = post_rows(bench.posts, layout)
        maker.grid(HEADS, rows, [0.14, 0.3, 0.14, 0.14, 0.28], above=CAUTION_DRILLING)
    if bench.parts:
        maker.heading(PARTS)
        maker.text(CAUTION_DRILLING, bold=True, keep=True)
    for heading, entries, numbered, *_ in bench.parts:
        maker.text(heading, bold=True, keep=True)
        for number, entry in enumerate(entries, 1):
            maker.text(f"{number}. {entry}" if numbered else f"\u2013 {entry}")


def _arm_widths(heads: list[str]) -> list[float]:
    shares = {"Arm": 0.15, "Lever": 0.08, "Points": 0.16, "Never off with": 0.32}
    rest = 1.0 - sum(shares.get(head, 0.0) for head in heads)
    return [shares.get(head, rest) for head in heads]
