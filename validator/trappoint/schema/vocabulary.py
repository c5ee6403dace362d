"""The vocabulary of messages about documents of one format."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from trappoint.core.meaning import Thing
from trappoint.core.quoting import listed, quoted
from trappoint.schema.forms import TextForm

Path = tuple[str | int, ...]

_TYPES = {
    "object": "an object in braces",
    "array": "a list",
    "string": "a text in double quotes",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Vocabulary:
    """The words for the documents of one format."""

    format: str
    """The value of ``format`` in a document of this edition."""
    one: str
    """The noun for one document, such as ``layout plan``."""
    whole: str
    """The name of the current document in messages, such as ``the plan``."""
    schema: dict[str, Any]
    least: Mapping[str, Any]
    """The smallest document that follows the schema."""
    kinds: Mapping[str, str]
    """From the key of a map or list to the noun for one entry: ``tracks`` to ``track``."""
    inner: Mapping[tuple[str, str], str]
    """The same for maps and lists inside entries: ``signals``, ``arms`` to ``arm``."""
    needed: Mapping[str, tuple[str, str]]
    """From each required key to an example and the reason why it is required."""
    forms: Mapping[str, TextForm]
    """From each definition in the schema to the form of its texts; "" for a text without one."""
    beyond: str
    """The reason why a number must be within its range."""
    refers: Mapping[str, tuple[str, ...]]
    """From each key whose value is an id to the kinds of things that the id may name."""
    trade_words: Mapping[str, Mapping[str, tuple[str, str | None]]]
    """From each kind of entry and key, such as ``arm.kind``, to railway words that the format
    writes in another way; each has its fix and the right value (None if several are possible)."""
    two_types: Mapping[tuple[str, ...], tuple[str, str]]
    """From the types of a value that cannot be false to a description of it and the reason."""

    def name_of(self, data: Mapping[str, Any], path: Path) -> str:
        """Return the name of a place, such as ``length_mm of track main`` or ``the plan``."""
        if not path:
            return self.whole
        kind = self.kinds.get(str(path[0])) if len(path) > 1 else None
        if kind is None:
            words, rest = _word(path[0]), path[1:]
        else:
            words, rest = f"{kind} {_word(path[1])}", path[2:]
            inner = self.inner.get((str(path[0]), str(rest[0]))) if len(rest) > 1 else None
            if inner:
                words, rest = f"{inner} {_called(data, path[:4])} of {words}", rest[2:]
        for part in rest:
            words = f"{'entry ' if isinstance(part, int) else ''}{_word(part)} of {words}"
        return words

    def things(self, data: Mapping[str, Any], kinds: tuple[str, ...]) -> list[Thing]:
        """Return the things of these kinds in a document, which may break the schema."""
        return [
            Thing(kind, id_, name if isinstance(name, str) else "")
            for kind in kinds
            for id_, entry in _entries(data, kind)
            for name in [entry.get("name", entry.get("title"))]
        ]

    def form(self, pattern: str) -> TextForm:
        """Return the form of texts that a pattern of the schema requires."""
        definitions = self.schema["$defs"].items()
        names = {part.get("pattern"): name for name, part in reversed(definitions)}
        return self.forms[names.get(pattern, "")]

    def wanted(self, types: str | list[str]) -> str:
        """Return words for these types of JSON Schema, such as ``a number`` or ``a list``."""
        names = [types] if isinstance(types, str) else types
        if tuple(names) in self.two_types:
            return self.two_types[tuple(names)][0]
        return listed([_TYPES[name] for name in names])


def capitalised(sentence: str) -> str:
    """Return a sentence with a capital first letter; the others do not change."""
    return sentence[0].upper() + sentence[1:]


def _entries(data: Mapping[str, Any], kind: str) -> list[tuple[str, dict[str, Any]]]:
    if kind == "arms":
        arms = [arm for _, signal in _entries(data, "signals") for arm in _list_in(signal, "arms")]
        return [(arm["id"], arm) for arm in arms if isinstance(arm.get("id"), str)]
    found = data.get(kind)
    members = found.items() if isinstance(found, dict) else ()
    return [(key, entry) for key, entry in members if isinstance(entry, dict)]


def _list_in(entry: Mapping[str, Any], key: str) -> list[dict[str, Any]]:
    found = entry.get(key)
    return [item for item in found if isinstance(item, dict)] if isinstance(found, list) else []


def _word(part: str | int) -> str:
    if isinstance(part, int):
        return str(part + 1)
    return part if re.fullmatch(r"[$A-Za-z0-9_-]{1,40}", part) else quoted(part)


def _called(data: Mapping[str, Any], path: Path) -> str:
    """Return the key of an entry; for an entry of a list, its ``id`` or else its number."""
    value: Any = data
    for part in path:
        value = value[part]
    own = value.get("id") if isinstance(path[-1], int) and isinstance(value, dict) else None
    return _word(own if isinstance(own, str) and own else path[-1])
