"""The wall chart as a browser prints it: it fills its sheet, and leaves nothing out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from amount import is_long
from drawing.drawn import report_of
from drawing.paper import (
    CASES,
    CLUB,
    FROM_BROWSER,
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
from trappoint.drawing.chart import write_chart
from trappoint.fitting.posts import posts_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path
    from typing import Any

    from playwright.sync_api import Browser, Page

pytest.importorskip("pypdf")

MM_OF_PIXEL = 25.4 / 96
"""CSS, Values and Units, section 6.2."""


@pytest.fixture(scope="module")
def tab(browser: Browser) -> Iterator[Page]:
    page = browser.new_page()
    yield page
    page.close()


def printed(tab: Page, text: str) -> list[Any]:
    tab.goto("about:blank")  # else the policy of the page before stands too
    tab.set_content(text)
    return sheets_of(tab.pdf(prefer_css_page_size=True))


def rails_in(tab: Page, wide: float) -> tuple[float, float]:
    """Return the left and the right end of the rails in the first picture, in millimetres."""
    tab.emulate_media(media="print")
    tab.set_viewport_size({"width": round(wide / MM_OF_PIXEL), "height": 800})
    ends = (
        tab.locator(".picture:visible")
        .first.locator(".track path")
        .evaluate_all(
            "rails => rails.map(rail => rail.getBoundingClientRect()).map(r => [r.left, r.right])"
        )
    )
    tab.emulate_media(media="null")
    return min(a for a, _ in ends) * MM_OF_PIXEL, max(b for _, b in ends) * MM_OF_PIXEL


RAILS = 0.7
"""The least share of the width that the rails of the first page take; names take the rest."""


@pytest.mark.parametrize(
    ("path", "sheet", "standing"), CASES[FROM_BROWSER], ids=NAMES[FROM_BROWSER]
)
def test_the_chart_fills_its_sheet(tab: Page, path: Path, sheet: str, standing: bool) -> None:
    report = report_of(path)
    assert report.table is not None
    pages = printed(tab, write_chart(report, sheet=sheet, standing=standing))
    lying = SIDES[sheet]
    own = lying[::-1] if standing else lying
    assert pages[-1].size == own
    assert_sheets_are_full(pages)
    is_wide = assert_the_diagram_fills(path, sheet, standing)
    wide = pages[0].size[0]
    assert wide in own
    left, right = rails_in(tab, wide - 20)
    assert left >= -0.1 and right <= wide - 19.9
    assert right - left >= RAILS * (wide - 20) or not is_wide
    arms = [entry.arm for entry in report.table.arms if entry.kind != "distant"]
    heads = tab.locator("table.square thead th:not(:first-child)").all_text_contents()
    assert heads == arms
    rows = tab.locator("table.square").first.locator("tbody tr")
    assert rows.evaluate_all("rows => rows.map(row => row.dataset.row)") == arms
    assert shut(CAUTION) in "".join(map(flat, pages))


@pytest.mark.parametrize("standing", [False, True] if is_long() else [True])
def test_the_caution_stands_on_each_page_with_measures_for_drilling(
    tab: Page, standing: bool
) -> None:
    report = report_of(CLUB if is_long() else HARBOUR)
    assert report.layout is not None and report.table is not None
    posts = posts_of(report.layout, report.table)
    bench = ExtraRows(posts if is_long() else posts * 3)  # several pages
    pages = map(flat, printed(tab, write_chart(report, standing=standing, bench=bench)))
    measured = [
        text
        for text in pages
        if shut("centre of the post") in text or shut("track's centre") in text
    ]
    assert len(measured) > 1
    assert all(shut(CAUTION_DRILLING) in text for text in measured)
