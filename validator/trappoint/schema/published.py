"""The schemas as they are published, and the editions that they are of."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from trappoint.core.resources import read_resource

FORMAT = "trappoint-layout/1"
"""What a layout plan of this edition has under ``format``."""

STORE_FORMAT = "trappoint-store/1"
"""What a store of this edition has under ``format``."""


@cache
def layout_schema() -> dict[str, Any]:
    """Return the schema of layout plans. It is shared: do not change it."""
    schema: dict[str, Any] = json.loads(read_resource("layout.schema.json"))
    return schema


@cache
def store_schema() -> dict[str, Any]:
    """Return the schema of stores. It is shared: do not change it."""
    schema: dict[str, Any] = json.loads(read_resource("store.schema.json"))
    return schema
