"""Plans to write in an editor."""

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
"""An example of a size that takes as long as all others together: for long runs."""

EXAMPLES = {
    path.name: path.read_text("utf-8")
    for path in ROOT.glob("examples/*.layout.json")
    if is_long() or path.name != LARGE
}
KELPIE = EXAMPLES["kelpie-quay.layout.json"]
FULL = json.dumps(EVERYTHING, indent=2)
"""Every key of the format."""


def some(entries: Sequence[T], most: int) -> Sequence[T]:
    """Return so many entries at the most, from all over."""
    return entries[:: -(-len(entries) // most)] if entries else entries


def checked(text: str) -> CheckedText:
    return check_text(text, "plan", DEFAULTS, CheckedText())


def with_cursor(text: str, old: str, new: str) -> tuple[LiveText, int]:
    """Return a text in which something was replaced, and the offset of the bar in what is new."""
    assert text.count(old) >= 1
    at = text.index(old)
    return LiveText(text.replace(old, new.replace("|", ""), 1)), at + new.index("|")


def data(text: str) -> Any:
    return json.loads(text)
