"""The published schemas and the names of their editions."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from trappoint.core.resources import read_resource

FORMAT = "trappoint-layout/1"
"""The value of ``format`` in a layout plan of this edition."""

STORE_FORMAT = "trappoint-store/1"
"""The value of ``format`` in a store of this edition."""


@cache
def layout_schema() -> dict[str, Any]:
    """Return the schema of layout plans. All callers share it: do not change it."""
    schema: dict[str, Any] = json.loads(read_resource("layout.schema.json"))
    return schema


@cache
def store_schema() -> dict[str, Any]:
    """Return the schema of stores. All callers share it: do not change it."""
    schema: dict[str, Any] = json.loads(read_resource("store.schema.json"))
    return schema
