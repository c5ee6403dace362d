"""In which order the schema names the keys of each object."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import Any

from trappoint.schema.published import layout_schema


@dataclass(frozen=True, slots=True)
class SchemaShape:
    """What the schema says of a value, as far as writing it asks for it."""

    keys: dict[str, SchemaShape] = field(default_factory=dict)
    """The keys of an object, in their order. Empty for a map keyed by id."""
    entries: SchemaShape | None = None
    """Of a map keyed by id, what its entries are; of a list, too."""

    def below(self, key: str) -> SchemaShape:
        """Return the shape of a member of an object."""
        return self.keys.get(key) or self.entries or UNKNOWN

    def ordered(self, keys: list[str]) -> list[str]:
        """Return keys in the order of the schema; those that it does not name come last."""
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
