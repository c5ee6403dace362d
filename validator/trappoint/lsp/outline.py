"""The outline of a plan: its kinds of things, the things, the arms of each signal."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from trappoint.core.kinds import NAMED_BY_KEY
from trappoint.lsp.lenient_access import Data, text
from trappoint.lsp.schema_lookup import form_at
from trappoint.source.tolerant_json import JsonNode, to_data

if TYPE_CHECKING:
    from trappoint.lsp.names import LiveText


@dataclass(slots=True)
class OutlineEntry:
    """An entry of the outline: offsets, ``end`` exclusive."""

    name: str
    kind: str
    """The kind of thing; ``section`` for all things of a kind."""
    detail: str
    start: int
    end: int
    key: tuple[int, int]
    """The offsets of its name."""
    below: list[OutlineEntry] = field(default_factory=list)


def outline(sketch: LiveText) -> list[OutlineEntry]:
    """Return the outline of a text, which may be incomplete."""
    found = []
    for member in sketch.root.members:
        key, value = member.key, member.value
        if value is None or value.kind not in ("object", "list"):
            continue
        title = str(form_at((key.text,)).get("title", key.text))
        section = OutlineEntry(title, "section", "", key.start, value.end, (key.start, key.end))
        if key.text in NAMED_BY_KEY:
            section.below = [
                _thing(key.text, each.key, each.value) for each in value.members if each.key.text
            ]
        found.append(section)
    return found


def _thing(kind: str, key: JsonNode, value: JsonNode | None) -> OutlineEntry:
    data = to_data(value)
    said = _said(kind, data) if isinstance(data, dict) else ""
    end = value.end if value else key.end
    entry = OutlineEntry(key.text, kind, said, key.start, end, (key.start, key.end))
    arms = value.get("arms") if value is not None and kind == "signals" else None
    for arm in arms.items if arms is not None else ():
        name = arm.get("id")
        if name is not None and name.text:
            own = to_data(arm)
            said = text(own, "kind", "stop") if isinstance(own, dict) else ""
            entry.below.append(
                OutlineEntry(name.text, "arms", said, arm.start, arm.end, (name.start, name.end))
            )
    return entry


def _said(kind: str, thing: Data) -> str:
    if kind == "tracks":
        return f"{text(thing, 'up', '?')} … {text(thing, 'down', '?')}"
    if kind == "signals":
        return f"{text(thing, 'track', '?')}, {text(thing, 'for', '?')}"
    return text(thing, "name")
