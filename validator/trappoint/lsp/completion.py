"""Completion: the keys, words, ids, free legs and open joints that may be typed at a place."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.lsp.choices import Suggestion, choices_at, ids_of, ids_on_boards
from trappoint.lsp.schema_lookup import description_of, form_at, keys_of
from trappoint.model.references import kinds_at
from trappoint.source.tolerant_json import spot_at

if TYPE_CHECKING:
    from trappoint.lsp.document_state import CheckedText
    from trappoint.lsp.names import LiveText
    from trappoint.lsp.reachable_names import Around
    from trappoint.source.tolerant_json import SyntaxSpot


class CompletionOffer(NamedTuple):
    """A completion and the text that it replaces: offsets, ``end`` exclusive."""

    choice: Suggestion
    written: str
    start: int
    end: int
    typed: str
    """The text that the editor matches with the replaced text, quotes included."""


def offers(
    sketch: LiveText,
    offset: int,
    checked: CheckedText,
    whole: LiveText | None = None,
    around: Around | None = None,
) -> list[CompletionOffer]:
    """Return the completions at an offset, the likeliest first.

    ``whole`` is the last readable text: it has more ids while this one is broken. ``around``
    gives the names on the plan's boards.
    """
    spot = spot_at(sketch.root, offset)
    if spot is None:
        return []
    known = [sketch] if whole is None or whole is sketch else [sketch, whole]
    if spot.role == "key":
        return [_key(sketch, spot, offset, choice) for choice in _keys(known, spot, around)]
    return [_value(spot, offset, choice) for choice in choices_at(known, spot, checked, around)]


def _keys(known: list[LiveText], spot: SyntaxSpot, around: Around | None) -> list[Suggestion]:
    """Return the keys that an object may still have."""
    there = {member.key.text for member in spot.box.members if member.key is not spot.node}
    kinds = kinds_at((*spot.path, ""), at_key=True)
    if kinds:
        beyond = ids_on_boards(around, kinds) if around is not None else ()
        found = {choice.text: choice for choice in (*ids_of(known, kinds), *beyond)}
        return [choice for choice in found.values() if choice.text not in there]
    form = form_at(spot.path)
    return [
        Suggestion(key, "key", description_of(form_at((*spot.path, key))))
        for key in keys_of(form)
        if key not in there
    ]


def _key(sketch: LiveText, spot: SyntaxSpot, offset: int, choice: Suggestion) -> CompletionOffer:
    node, member = spot.node, spot.member
    if node is not None and member is not None and member.colon >= 0:
        return _within(spot, offset, choice)
    written = f'"{choice.text}": '
    if node is not None:
        return CompletionOffer(choice, written, node.start, node.end, f'"{choice.text}"')
    before = sketch.text[:offset].rstrip()[-1:]
    after = sketch.text[offset:].lstrip()[:1]
    lead = "" if before in ("{", ",", "") else ", "
    return CompletionOffer(
        choice, lead + written + ("," if after == '"' else ""), offset, offset, ""
    )


def _value(spot: SyntaxSpot, offset: int, choice: Suggestion) -> CompletionOffer:
    if choice.kind == "word" and choice.text in ("true", "false"):
        if spot.node is None:
            return CompletionOffer(choice, choice.text, offset, offset, "")
        return CompletionOffer(choice, choice.text, spot.node.start, spot.node.end, choice.text)
    return _within(spot, offset, choice)


def _within(spot: SyntaxSpot, offset: int, choice: Suggestion) -> CompletionOffer:
    """Complete a text within its quotes, or with new quotes if it has none."""
    node = spot.node
    quoted = f'"{choice.text}"'
    if node is None:
        return CompletionOffer(choice, quoted, offset, offset, "")
    if node.kind != "text":
        return CompletionOffer(choice, quoted, node.start, node.end, choice.text)
    start, end = node.inner
    if offset <= node.start or (node.closed and offset >= node.end):
        return CompletionOffer(choice, quoted, node.start, node.end, quoted)
    goes_on = node.closed or choice.text.endswith(":")
    return CompletionOffer(choice, choice.text + ("" if goes_on else '"'), start, end, choice.text)
