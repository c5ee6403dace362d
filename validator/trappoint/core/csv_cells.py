"""Cells of comma-separated values (RFC 4180) for spreadsheets."""

from __future__ import annotations

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
"""The first characters by which a spreadsheet recognizes a formula."""


def safe_cell(text: str) -> str:
    """Return a cell that no spreadsheet takes for a formula: with an apostrophe before a formula.

    Source: OWASP, CSV Injection.
    """
    return f"'{text}" if text.startswith(_FORMULA) else text
