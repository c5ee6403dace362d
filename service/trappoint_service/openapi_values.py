"""Small JSON Schemas, and helpers to combine them."""

from __future__ import annotations

from typing import Any

Schema = dict[str, Any]
Schemas = dict[str, Schema]
"""JSON Schemas, by their names in the description."""

TEXT: Schema = {"type": "string"}
TEXT_OR_NULL: Schema = {"type": ["string", "null"]}
TRUTH: Schema = {"type": "boolean"}
COUNT: Schema = {"type": "integer", "minimum": 0}
LENGTH: Schema = {"type": ["number", "null"], "description": "Null if unknown."}
AMOUNT: Schema = {"type": "string", "pattern": "^[0-9]+[.][0-9]{2}$"}
HEADING: Schema = {"enum": ["up", "down"]}
HOLDS: Schema = {
    "type": ["boolean", "null"],
    "description": "Whether the plan holds; null if the check could not decide.",
}


def ref(name: str) -> Schema:
    """Return a reference to one of the schemas."""
    return {"$ref": f"#/components/schemas/{name}"}


def record(required: Schema, optional: Schema | None = None) -> Schema:
    """Return the schema of an object with exactly these keys."""
    return {
        "type": "object",
        "required": list(required),
        "properties": {**required, **(optional or {})},
        "additionalProperties": False,
    }


def many(items: Schema) -> Schema:
    """Return the schema of a list."""
    return {"type": "array", "items": items}


def table_of(values: Schema) -> Schema:
    """Return the schema of an object whose keys are ids."""
    return {"type": "object", "additionalProperties": values}


def or_null(schema: Schema) -> Schema:
    """Return the schema of a value that may be null."""
    return {"anyOf": [schema, {"type": "null"}]}


TEXTS = many(TEXT)
LIES = table_of(TEXT)
COUNTS = table_of(COUNT)
