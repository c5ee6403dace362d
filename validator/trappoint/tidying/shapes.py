"""The order of the keys of each object, taken from the schema."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import Any

from trappoint.schema.published import layout_schema


@dataclass(frozen=True, slots=True)
class SchemaShape:
    """The key order of a value and of the values inside it."""

    keys: dict[str, SchemaShape] = field(default_factory=dict)
    """The shapes of an object's members, in order of keys. Empty for a map keyed by id."""
    entries: SchemaShape | None = None
    """The shape of the entries of a list or of a map keyed by id; otherwise None."""

    def below(self, key: str) -> SchemaShape:
        """Return the shape of an object's member; ``UNKNOWN`` if the schema does not name it."""
        return self.keys.get(key) or self.entries or UNKNOWN

    def ordered(self, keys: list[str]) -> list[str]:
        """Return keys in the order of the schema; keys that it does not name come last."""
        if not self.keys:
            return keys
        ranks = {key: rank for rank, key in enumerate(self.keys)}
        return sorted(keys, key=lambda key: ranks.get(key, len(ranks)))


UNKNOWN = SchemaShape()


@cache
def plan_shape() -> SchemaShape:
    """Return the shape of a layout plan."""
    schema = layout_schema()
    return _shape(schema, schema["$defs"])


def _shape(schema: dict[str, Any], defs: dict[str, Any]) -> SchemaShape:
    if "$ref" in schema:
        schema = defs[schema["$ref"].rsplit("/", 1)[-1]]
    keys = {key: _shape(member, defs) for key, member in schema.get("properties", {}).items()}
    entries = schema.get("items") or schema.get("additionalProperties")
    return SchemaShape(keys, _shape(entries, defs) if isinstance(entries, dict) else None)
