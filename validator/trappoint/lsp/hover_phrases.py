"""Phrases shared by all hover texts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.lsp.lenient_access import Data, text, things

if TYPE_CHECKING:
    from trappoint.lsp.document_state import CheckedText


def lines(head: str, *items: str) -> str:
    """Return a heading with a Markdown list below it. Empty items are left out."""
    return "\n".join([head, *(f"- {item}" for item in items if item)])


def heading(word: str, key: str, thing: Data) -> str:
    """Return the heading for a thing: its name before its id, or the id alone."""
    name = text(thing, "name")
    if not name or name.casefold() == key.casefold():
        return f"**{word[0].upper()}{word[1:]} {key}**"
    return f"**{name}** ({word} {key})"


def called(data: Data, kind: str, key: str) -> str:
    """Return a thing's name with its id, as in ``Goods loop (loop-west)``, or the id alone."""
    name = text(things(data, kind).get(key, {}), "name")
    return f"{name} ({key})" if name and name.casefold() != key.casefold() else key


def noted(thing: Data) -> str:
    """Return the note of a thing; empty if there is none."""
    note = text(thing, "note")
    return f"note: {note}" if note else ""


def as_of(checked: CheckedText) -> str:
    """Return a remark if the locking is from an earlier version of the text; else empty."""
    return "from the last version of the plan that could be checked" if checked.stale else ""


def millimetres(thing: Data, key: str) -> str:
    """Return a length of a thing with its unit, as in ``1,450 mm``; empty if it has none."""
    value = thing.get(key)
    if not isinstance(value, int | float) or isinstance(value, bool):
        return ""
    return f"{value:,.10g} mm"
