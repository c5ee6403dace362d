"""The schema of layout plans as it is published, and the edition that it is of."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from trappoint.core.resources import read_resource

FORMAT = "trappoint-layout/1"
"""What a layout plan of this edition has under ``format``."""


@cache
def layout_schema() -> dict[str, Any]:
    """Return the schema of layout plans. It is shared: do not change it."""
    schema: dict[str, Any] = json.loads(read_resource("layout.schema.json"))
    return schema
