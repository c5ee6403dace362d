"""What the messages about documents of one format have of their own: its vocabulary."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

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
    """What a document of this edition has under ``format``."""
    one: str
    """What one document is called: ``layout plan``."""
    whole: str
    """What a message calls the document at hand: ``the plan``."""
    schema: dict[str, Any]
    least: Mapping[str, Any]
    """The smallest document that follows the schema."""
    kinds: Mapping[str, str]
    """What one entry of a map or list is called, by the key of that: ``tracks``: ``track``."""
    inner: Mapping[tuple[str, str], str]
    """The same for maps and lists inside of entries: ``signals``, ``arms``: ``arm``."""
    needed: Mapping[str, tuple[str, str]]
    """For each key that may be missing: an example of it, and why it is needed."""
    forms: Mapping[str, TextForm]
    """The forms of texts, by the names of definitions in the schema; empty for one without."""
    beyond: str
    """Why a number cannot be out of its range."""
    two_types: Mapping[tuple[str, ...], tuple[str, str]]
    """For the types of a value that may be a truth or more: what to write, and why never false."""

    def name_of(self, data: Mapping[str, Any], path: Path) -> str:
        """Name a place of a document: ``length_mm of track main``, ``track main``, ``the plan``."""
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

    def form(self, pattern: str) -> TextForm:
        """Return the form of text that a pattern of the schema asks for."""
        definitions = self.schema["$defs"].items()
        names = {part.get("pattern"): name for name, part in reversed(definitions)}
        return self.forms[names.get(pattern, "")]

    def wanted(self, types: str | list[str]) -> str:
        """Say what a value of one of these types of JSON Schema is."""
        names = [types] if isinstance(types, str) else types
        if tuple(names) in self.two_types:
            return self.two_types[tuple(names)][0]
        return listed([_TYPES[name] for name in names])


def capitalised(sentence: str) -> str:
    """Return a sentence with its first letter large, and the others as they are."""
    return sentence[0].upper() + sentence[1:]


def _word(part: str | int) -> str:
    if isinstance(part, int):
        return str(part + 1)
    return part if re.fullmatch(r"[$A-Za-z0-9_-]{1,40}", part) else quoted(part)


def _called(data: Mapping[str, Any], path: Path) -> str:
    """Return the key of an entry, or for one of a list the id that it gives itself."""
    value: Any = data
    for part in path:
        value = value[part]
    own = value.get("id") if isinstance(path[-1], int) and isinstance(value, dict) else None
    return _word(own if isinstance(own, str) and own else path[-1])
