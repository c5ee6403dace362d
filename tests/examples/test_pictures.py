"""Test that the pictures and the wall sheet beside the examples are up to date."""

from __future__ import annotations

import re

import pytest

import trappoint
from examples.folder import EXAMPLES, PICTURES, PLAN, compare
from trappoint.drawing.chart import write_chart
from trappoint.drawing.diagram import draw
from trappoint.drawing.paper import sheet_of

README = (EXAMPLES.parent / "README.md").read_text("utf-8")
DRAWN = re.findall(r"\]\(examples/pictures/([\w-]+)\.svg\)", README)


def test_pages_show_them() -> None:
    """Those of the README are drawn here, the others by the tests of their pages."""
    assert DRAWN
    top = EXAMPLES.parent
    pages = (top / "README.md", top / "service" / "README.md", EXAMPLES / "EVENING.md")
    shown = [
        name
        for page in pages
        for name in re.findall(r"\]\([\w./]*pictures/([\w.-]+)\)", page.read_text("utf-8"))
    ]
    assert set(shown) == {path.name for path in PICTURES.iterdir()}


@pytest.mark.parametrize("name", DRAWN)
def test_a_picture_is_as_drawn(name: str, rewrite: bool) -> None:
    report = trappoint.check(EXAMPLES / f"{name}{PLAN}")
    assert report.layout is not None
    diagram = draw(report.layout, table=report.table, widest=sheet_of("a3").widest)
    compare(PICTURES / f"{name}.svg", f"{diagram.svg()}\n", rewrite=rewrite)


def test_the_sheet_of_the_club_layout_is_as_printed(rewrite: bool) -> None:
    report = trappoint.check(EXAMPLES / f"hobthrush-vale{PLAN}")
    text = write_chart(report, sheet="a3")
    compare(EXAMPLES / "hobthrush-vale.chart.html", text, rewrite=rewrite)
