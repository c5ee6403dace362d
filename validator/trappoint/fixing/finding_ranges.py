"""The part of the text to underline for a finding."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.source.tolerant_json import JsonNode, Member

if TYPE_CHECKING:
    from trappoint.core.findings import Finding
    from trappoint.source.text_positions import TextPlaces


class Mark(NamedTuple):
    """The part of a text to underline: offsets, ``end`` exclusive."""

    start: int
    end: int
    box: JsonNode | None = None
    """The object or list whose member or entry is marked."""
    member: Member | None = None
    item: JsonNode | None = None


def mark_of(root: JsonNode, places: TextPlaces, finding: Finding) -> Mark:
    """Return the part to underline for a finding: a value, a key or the first line of a value.

    ``root`` is what ``read_tolerantly`` returns for the text of ``places``.

    A value of several lines is underlined at its key or first line: underlining a whole signal
    would hide its other findings.
    """
    offset = places.offset_of(finding.line, finding.column)
    line_end = places.line_end(offset)
    found = _node_at(root, offset)
    if found is None:
        return Mark(offset, min(offset + 1, line_end))
    member = found.member
    node = found.item or (member.value if member and member.value else None) or root
    if member is not None and member.key.start == offset:
        node = member.key
    if node.end <= line_end:
        return found._replace(start=node.start, end=node.end)
    if member is not None and member.key.end > member.key.start:
        return found._replace(start=member.key.start, end=member.key.end)
    return found._replace(start=offset, end=line_end)


def _node_at(root: JsonNode, offset: int) -> Mark | None:
    """Return the key, value or entry at an offset; None if none begins there."""
    box = root
    if root.start == offset:
        return Mark(0, 0)
    while True:
        inside: JsonNode | None = None
        for member in box.members:
            value = member.value
            if member.key.start == offset or (value is not None and value.start == offset):
                return Mark(0, 0, box, member)
            if value is not None and value.start < offset < value.end:
                inside = value
        for item in box.items:
            if item.start == offset:
                return Mark(0, 0, box, item=item)
            if item.start < offset < item.end:
                inside = item
        if inside is None or inside.kind not in ("object", "list"):
            return None
        box = inside
