"""Reports and diagrams that several tests read: each is made once. Tests do not change them."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from drawing.looking import parse
from trappoint.checking.check import check
from trappoint.drawing.diagram import draw

if TYPE_CHECKING:
    from pathlib import Path
    from xml.etree.ElementTree import Element

    from trappoint.checking.report import Report
    from trappoint.drawing.diagram import Diagram


@cache
def report_of(plan: Path | str) -> Report:
    """Check a plan: a file, or the text of a plan."""
    return check(plan)


@cache
def diagram_of(plan: Path | str, widest: float | None = None, *, findings: bool = False) -> Diagram:
    """Draw a plan, which must be readable, with its table and perhaps its findings."""
    report = report_of(plan)
    assert report.layout is not None
    marked = report.findings if findings else ()
    return draw(report.layout, table=report.table, findings=marked, widest=widest)


_ROOTS: dict[int, tuple[Diagram, Element]] = {}
"""From the identity of a diagram to the diagram, which keeps it unique, and its SVG."""


def root_of(diagram: Diagram) -> Element:
    """Return the SVG of a diagram, read back."""
    if id(diagram) not in _ROOTS:
        _ROOTS[id(diagram)] = diagram, parse(diagram.svg())
    return _ROOTS[id(diagram)][1]
