"""Quick fixes: changes that mend a finding, if only one mend is possible."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.fixing.finding_ranges import Mark, mark_of
from trappoint.schema.published import FORMAT
from trappoint.source.tolerant_json import to_data

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.findings import Finding
    from trappoint.source.text_positions import TextPlaces
    from trappoint.source.tolerant_json import JsonNode


class Edit(NamedTuple):
    """A change of the text: offsets, ``end`` exclusive, and the new text."""

    start: int
    end: int
    text: str


class Fix(NamedTuple):
    """A quick fix: its title and its changes."""

    title: str
    edits: tuple[Edit, ...]


def apply_edits(text: str, edits: Iterable[Edit]) -> str:
    """Return a text with changes that do not overlap."""
    for edit in sorted(edits, reverse=True):
        text = text[: edit.start] + edit.text + text[edit.end :]
    return text


def may_have_fix(finding: Finding) -> bool:
    """Return whether a finding is one of those with quick fixes; ``fix_of`` decides."""
    return finding.instead is not None or finding.rule in ("duplicate-key", "missing-key")


def fix_of(root: JsonNode, places: TextPlaces, finding: Finding) -> Fix | None:
    """Return the quick fix of a finding; None if there is none, or more than one.

    ``root`` is what ``read_tolerantly`` returns for the text of ``places``.
    """
    mark = mark_of(root, places, finding)
    if finding.instead:
        return _replaced(root, places, finding, mark, finding.instead)
    if finding.instead == "":
        return _removed(places, finding, mark)
    if finding.rule == "duplicate-key":
        return _repeated(mark)
    if finding.rule == "missing-key" and not finding.pointer:
        return _format_missing(root, places)
    return None


def _replaced(
    root: JsonNode, places: TextPlaces, finding: Finding, mark: Mark, instead: str
) -> Fix | None:
    at = places.offset_of(finding.line, finding.column)
    if finding.rule == "not-json":
        if instead == "," and places.text[at : at + 1] != ";":
            return Fix("Insert a comma", (Edit(at, at, ","),))
        quoted = not places.text[at : at + 1].isalnum() and len(instead) > 1
        length = 1 if len(instead) == 1 else len(instead) - (0 if quoted else 2)
        return Fix(f"Change to {instead}", (Edit(at, at + length, instead),))
    if mark.start != at and mark.member is None:
        return None
    return Fix(f"Change to {instead}", (Edit(mark.start, mark.end, instead),))


def _removed(places: TextPlaces, finding: Finding, mark: Mark) -> Fix | None:
    at = places.offset_of(finding.line, finding.column)
    if finding.rule == "not-json":
        return Fix("Remove the comma", (Edit(at, at + 1, ""),))
    edit = _without(mark)
    return Fix(f"Remove {_what(mark)}", (edit,)) if edit else None


def _repeated(mark: Mark) -> Fix | None:
    """Return the fix that removes a repeated key with the same value as the first."""
    if mark.box is None or mark.member is None:
        return None
    first = mark.box.get(mark.member.key.text)
    if first is None or first is mark.member.value:
        return None
    if to_data(first) != to_data(mark.member.value):
        return None
    edit = _without(mark)
    return Fix("Remove this repeated key", (edit,)) if edit else None


def _without(mark: Mark) -> Edit | None:
    """Return the change that removes a member or an entry, with one comma beside it."""
    if mark.box is None:
        return None
    if mark.member is not None:
        parts = [(m.key.start, _end(m.key, m.value)) for m in mark.box.members]
        own = (mark.member.key.start, _end(mark.member.key, mark.member.value))
    elif mark.item is not None:
        parts = [(item.start, item.end) for item in mark.box.items]
        own = (mark.item.start, mark.item.end)
    else:
        return None
    index = parts.index(own)
    if index:
        return Edit(parts[index - 1][1], own[1], "")
    if len(parts) > 1:
        return Edit(own[0], parts[1][0], "")
    return Edit(*own, "")


def _what(mark: Mark) -> str:
    """Return a short name for the member or entry that is marked."""
    return f"the key {mark.member.key.text}" if mark.member is not None else "this entry"


def _end(key: JsonNode, value: JsonNode | None) -> int:
    return value.end if value is not None else key.end


def _format_missing(root: JsonNode, places: TextPlaces) -> Fix | None:
    keys = [member.key.text for member in root.members]
    if root.kind != "object" or "format" in keys or "tracks" not in keys:
        return None
    comma = "," if root.members else ""
    at = root.start + 1
    line_begins = places.text[at : at + 1] in "\r\n"
    lead = "\n  " if line_begins else ""
    tail = "" if line_begins or not comma else " "
    return Fix("Add the key format", (Edit(at, at, f'{lead}"format": "{FORMAT}"{comma}{tail}'),))
