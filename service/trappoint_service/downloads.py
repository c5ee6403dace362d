"""The files that can be downloaded from a plan's page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.reporting.formats import REPORTERS, TABLE_REPORTERS
from trappoint_service.jobs import (
    CheckPlans,
    DeriveTable,
    DrawPlan,
    MakeFile,
    MakeFittingSheet,
    TidyPlan,
    WriteChart,
    WriteSessions,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint_service.answers import File, Refusal, Text
    from trappoint_service.jobs import Job, Plan


_DRAWN: Mapping[str, type[DrawPlan | WriteChart | WriteSessions]] = {
    "diagram": DrawPlan,
    "chart": WriteChart,
    "session": WriteSessions,
}


class Download(NamedTuple):
    """A file to download."""

    kind: str
    title: str
    content: Literal["plan", "diagram", "chart", "table", "fitting", "session", "findings"]
    format: str
    mimetype: str
    file: str
    """Its name; ``NAME`` stands for the name of the plan."""
    needs: str
    """The part that the plan must have: ``table``, ``diagram``, ``sessions`` or empty."""

    def job(
        self, plan: Plan, store: bytes | None, seconds: float
    ) -> Job[Text | File | Refusal] | None:
        """Return the job that makes the file; None if it is the plan as sent.

        ``seconds``: the time limit of a search.
        """
        match self.content:
            case "plan":
                return TidyPlan(plan) if self.format == "tidied" else None
            case "diagram" | "chart" if self.format in ("png", "pdf"):
                return MakeFile(plan, self.content, "png" if self.format == "png" else "pdf")
            case "diagram" | "chart" | "session":
                return _DRAWN[self.content](plan)
            case "table":
                return DeriveTable(plan, self.format)
            case "fitting":
                return MakeFittingSheet(plan, store, seconds, self.format)
            case "findings":
                return CheckPlans((plan,), self.format)


_ALL = (
    Download("plan.layout.json", "The plan (JSON)", "plan", "json", "application/json",
             "NAME.layout.json", ""),
    Download("tidied.layout.json", "The plan, tidied (JSON)", "plan", "tidied",
             "application/json", "NAME.layout.json", "diagram"),
    Download("diagram.svg", "Diagram (SVG)", "diagram", "svg", "image/svg+xml", "diagram.svg",
             "diagram"),
    Download("diagram.png", "Diagram (PNG)", "diagram", "png", "image/png", "diagram.png",
             "diagram"),
    Download("diagram.pdf", "Diagram (PDF)", "diagram", "pdf", "application/pdf", "diagram.pdf",
             "diagram"),
    Download("chart.html", "Wall chart (HTML)", "chart", "html", "text/html",
             "chart.html", "table"),
    Download("chart.pdf", "Wall chart (PDF)", "chart", "pdf", "application/pdf",
             "chart.pdf", "table"),
    Download("table.csv", "Locking table (CSV)", "table", "csv", "text/csv",
             "locking-table.csv", "table"),
    Download("table.json", "Locking table (JSON)", "table", "json", "application/json",
             "locking-table.json", "table"),
    Download("fitting-sheet.html", "Fitting sheet (HTML)", "fitting", "html", "text/html",
             "fitting-sheet.html", "table"),
    Download("fitting-sheet.csv", "Fitting sheet (CSV)", "fitting", "csv", "text/csv",
             "fitting-sheet.csv", "table"),
    Download("sessions.html", "Running sessions (HTML)", "session", "html", "text/html",
             "sessions.html", "sessions"),
    Download("findings.json", "Findings (JSON)", "findings", "json", "application/json",
             "findings.json", ""),
    Download("findings.sarif", "Findings (SARIF)", "findings", "sarif", "application/sarif+json",
             "findings.sarif", ""),
)  # fmt: skip

DOWNLOADS: tuple[Download, ...] = tuple(
    entry
    for entry in _ALL
    if entry.content in ("plan", "diagram", "chart", "fitting", "session")
    or entry.format in (REPORTERS if entry.content == "findings" else TABLE_REPORTERS)
)
"""The downloads, in the order of the page."""
