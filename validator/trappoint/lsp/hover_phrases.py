"""Small words that all that is told begins or ends with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.lsp.lenient_access import Data, text

if TYPE_CHECKING:
    from trappoint.lsp.document_state import CheckedText


def lines(head: str, *told: str) -> str:
    """Return a heading and what is told under it, each on a line of its own."""
    return "\n".join([head, *(f"- {line}" for line in told if line)])


def named(thing: Data) -> str:
    """Return what a thing is called in full, if it is."""
    name = text(thing, "name")
    return f", “{name}”" if name else ""


def noted(thing: Data) -> str:
    """Return the note of a thing, if there is one."""
    note = text(thing, "note")
    return f"note: {note}" if note else ""


def as_of(checked: CheckedText) -> str:
    """Say so where what follows from the plan is older than the text."""
    return "as the plan was when it could last be worked out" if checked.stale else ""


def millimetres(thing: Data, key: str) -> str:
    """Return a length of a thing in words, if it has it."""
    value = thing.get(key)
    if not isinstance(value, int | float) or isinstance(value, bool):
        return ""
    return f"{value:g} mm"
