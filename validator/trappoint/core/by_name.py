"""Tables of the modules that are imported by name.

The import statements of a module do not show these imports. The tests in ``tests/house`` add them
to the import graph, so the same rules apply to them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

PUBLIC_NAMES: dict[str, str] = {
    "Board": "trappoint.boards.assembly",
    "Diagram": "trappoint.drawing.diagram",
    "Files": "trappoint.source.files",
    "FilesAtHand": "trappoint.source.files",
    "FilesOnDisk": "trappoint.source.files",
    "Finding": "trappoint.core.findings",
    "Layout": "trappoint.model.layout",
    "LockingTable": "trappoint.interlocking.locking_table",
    "OutOfReach": "trappoint.source.opening",
    "PlanError": "trappoint.core.errors",
    "Proposal": "trappoint.proposing.proposal",
    "Report": "trappoint.checking.report",
    "UnusableFile": "trappoint.source.reading",
    "board_files": "trappoint.checking.check",
    "check": "trappoint.checking.check",
    "draw": "trappoint.drawing.diagram",
    "load": "trappoint.checking.check",
    "locking": "trappoint.checking.check",
    "propose": "trappoint.proposing.proposal",
}
"""From each public name of the library to the module that holds it."""

COMMANDS: dict[str, str] = {
    "new": "trappoint.commands.new",
    "check": "trappoint.commands.check",
    "propose": "trappoint.commands.propose",
    "table": "trappoint.commands.table",
    "dimensions": "trappoint.commands.dimensions",
    "draw": "trappoint.commands.draw",
    "chart": "trappoint.commands.chart",
    "road": "trappoint.commands.road",
    "session": "trappoint.commands.session",
    "parts": "trappoint.commands.parts",
    "fitting": "trappoint.commands.fitting",
    "rules": "trappoint.commands.rules",
    "compare": "trappoint.commands.compare",
    "tidy": "trappoint.commands.tidy",
    "merge": "trappoint.commands.merge",
    "site": "trappoint.commands.site",
    "lsp": "trappoint.commands.lsp",
    "serve": "trappoint.commands.serve",
}
"""From each command to its module."""

REPORTERS: dict[str, str] = {
    "text": "trappoint.reporting.findings_text",
    "json": "trappoint.reporting.findings_json",
    "sarif": "trappoint.reporting.findings_sarif",
    "junit": "trappoint.reporting.findings_junit",
    "github": "trappoint.reporting.findings_github",
}
"""From each format of findings to the module that renders it."""

TABLE_REPORTERS: dict[str, str] = {
    "text": "trappoint.reporting.table_text",
    "markdown": "trappoint.reporting.table_markdown",
    "csv": "trappoint.reporting.table_csv",
    "html": "trappoint.reporting.table_html",
    "json": "trappoint.reporting.table_json",
}
"""From each format of locking tables to the module that renders it."""

COMPARE_REPORTERS: dict[str, str] = {
    "text": "trappoint.reporting.compare_text",
    "markdown": "trappoint.reporting.compare_markdown",
    "json": "trappoint.reporting.compare_json",
}
"""From each format of comparisons to the module that renders it."""

DIMENSIONS_REPORTERS: dict[str, str] = {
    "text": "trappoint.reporting.dimensions_text",
    "markdown": "trappoint.reporting.dimensions_markdown",
    "json": "trappoint.reporting.dimensions_json",
}
"""From each format of dimensions to the module that renders it."""

SESSION_REPORTERS: dict[str, str] = {
    "text": "trappoint.reporting.session_text",
    "markdown": "trappoint.reporting.session_markdown",
    "html": "trappoint.reporting.session_html",
    "json": "trappoint.reporting.session_json",
}
"""From each format of a session's sheets to the module that renders it."""

IMPORTERS: dict[str, tuple[dict[str, str], ...]] = {
    "trappoint": (PUBLIC_NAMES,),
    "trappoint.cli": (COMMANDS,),
    "trappoint.commands.compare": (COMPARE_REPORTERS,),
    "trappoint.commands.dimensions": (DIMENSIONS_REPORTERS,),
    "trappoint.commands.session": (SESSION_REPORTERS,),
    "trappoint.reporting.formats": (REPORTERS, TABLE_REPORTERS),
}
"""From each module that imports by name to the tables that it uses."""


def import_by_name(table: Mapping[str, str], name: str) -> Any:
    """Return the module that a table gives for a name. Raises KeyError if it gives none."""
    from importlib import import_module

    return import_module(table[name])
