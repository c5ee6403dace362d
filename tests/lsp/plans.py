"""Plans for the tests of the editor."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any, TypeVar

from amount import is_long
from lsp.client import ROOT
from schema.test_layout_schema import EVERYTHING
from trappoint.lsp.document_state import CheckedText, check_text
from trappoint.lsp.names import LiveText
from trappoint.model.settings import DEFAULTS

T = TypeVar("T")

LARGE = "hobthrush-vale.layout.json"
"""A large example that takes as long as all others together: for long runs only."""

EXAMPLES = {
    path.name: path.read_text("utf-8")
    for path in ROOT.glob("examples/*.layout.json")
    if is_long() or path.name != LARGE
}
KELPIE = EXAMPLES["kelpie-quay.layout.json"]
FULL = json.dumps(EVERYTHING, indent=2)
"""A plan with every key of the format."""


def some(entries: Sequence[T], most: int) -> Sequence[T]:
    """Return at most a number of entries, spread evenly."""
    return entries[:: -(-len(entries) // most)] if entries else entries


def checked(text: str) -> CheckedText:
    return check_text(text, "plan", DEFAULTS, CheckedText())


def with_cursor(text: str, old: str, new: str) -> tuple[LiveText, int]:
    """Return a text after a replacement, and the offset of the bar in the new part."""
    assert text.count(old) >= 1
    at = text.index(old)
    return LiveText(text.replace(old, new.replace("|", ""), 1)), at + new.index("|")


def data(text: str) -> Any:
    return json.loads(text)
