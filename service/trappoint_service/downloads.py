"""What can be taken away from the page of a checked plan."""

from __future__ import annotations

from typing import NamedTuple

from trappoint.reporting.formats import REPORTERS, TABLE_REPORTERS


class Download(NamedTuple):
    """A file that can be had."""

    kind: str
    title: str
    job: str
    format: str
    mimetype: str
    file: str
    needs: str
    """What the plan must have for it: ``table``, ``diagram`` or nothing."""


_ALL = (
    Download("diagram.svg", "Diagram (SVG)", "draw", "svg", "image/svg+xml", "diagram.svg",
             "diagram"),
    Download("chart.html", "Chart for the wall (HTML)", "chart", "html", "text/html",
             "chart.html", "table"),
    Download("table.csv", "Locking table (CSV)", "table", "csv", "text/csv",
             "locking-table.csv", "table"),
    Download("table.json", "Locking table (JSON)", "table", "json", "application/json",
             "locking-table.json", "table"),
    Download("fitting-sheet.html", "Fitting sheet (HTML)", "fitting", "html", "text/html",
             "fitting-sheet.html", "table"),
    Download("fitting-sheet.csv", "Fitting sheet (CSV)", "fitting", "csv", "text/csv",
             "fitting-sheet.csv", "table"),
    Download("findings.json", "Findings (JSON)", "check", "json", "application/json",
             "findings.json", ""),
    Download("findings.sarif", "Findings (SARIF)", "check", "sarif", "application/sarif+json",
             "findings.sarif", ""),
)  # fmt: skip

DOWNLOADS: tuple[Download, ...] = tuple(
    entry
    for entry in _ALL
    if entry.job in ("draw", "chart", "fitting")
    or entry.format in (REPORTERS if entry.job == "check" else TABLE_REPORTERS)
)
"""All of them, in the order in which they are shown."""
