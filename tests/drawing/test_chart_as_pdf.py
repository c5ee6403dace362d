"""The wall chart as PDF fills its sheet, and leaves nothing out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from amount import is_long
from drawing.drawn import report_of
from drawing.paper import (
    CASES,
    CLUB,
    FROM_PDF,
    HARBOUR,
    NAMES,
    SIDES,
    assert_sheets_are_full,
    assert_the_diagram_fills,
    flat,
    sheets_of,
    shut,
)
from trappoint.core.findings import CAUTION, CAUTION_DRILLING
from trappoint.drawing.bench_rows import ExtraRows
from trappoint.fitting.posts import posts_of

if TYPE_CHECKING:
    from pathlib import Path

pytest.importorskip("svglib")
pytest.importorskip("pypdf")

from trappoint.drawing.chart_pdf import chart_pdf  # needs the libraries above

RAILS = 0.7
"""The least share of the width that the rails of the first page take; names take the rest."""


@pytest.mark.parametrize(("path", "sheet", "standing"), CASES[FROM_PDF], ids=NAMES[FROM_PDF])
def test_the_chart_fills_its_sheet(path: Path, sheet: str, standing: bool) -> None:
    report = report_of(path)
    assert report.table is not None
    pages = sheets_of(chart_pdf(report, sheet=sheet, standing=standing).content)
    lying = SIDES[sheet]
    own = lying[::-1] if standing else lying
    assert pages[-1].size == own
    assert_sheets_are_full(pages)
    is_wide = assert_the_diagram_fills(path, sheet, standing)
    wide = pages[0].size[0]
    assert wide in own
    left, right = pages[0].rails
    assert left >= 8 and right <= wide - 8  # the circles of cuts may reach into the margin
    assert right - left >= RAILS * (wide - 20) or not is_wide
    arms = [entry.arm for entry in report.table.arms if entry.kind != "distant"]
    turned = {one.text for page in pages for one in page.letters if one.turned}
    assert turned >= set(arms)
    assert report.layout is not None
    # The names of trains lie along their rails.
    trains = {name for train in report.layout.trains.values() for name in (train.name, train.id)}
    assert turned <= {*arms, *trains}
    assert shut(CAUTION) in "".join(map(flat, pages))


@pytest.mark.parametrize("standing", [False, True] if is_long() else [True])
def test_the_caution_stands_on_each_page_with_measures_for_drilling(standing: bool) -> None:
    report = report_of(CLUB if is_long() else HARBOUR)
    assert report.layout is not None and report.table is not None
    posts = posts_of(report.layout, report.table)
    bench = ExtraRows(posts if is_long() else posts * 3)  # several pages
    pages = map(flat, sheets_of(chart_pdf(report, standing=standing, bench=bench).content))
    measured = [
        text
        for text in pages
        if shut("centre of the post") in text or shut("track's centre") in text
    ]
    assert len(measured) > 1
    assert all(shut(CAUTION_DRILLING) in text for text in measured)
