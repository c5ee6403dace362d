"""The dimensions of a plan as one JSON object (RFC 8259)."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from trappoint.reporting.dimensions_words import caution_of

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.dimensions.table import Dimensions


def render(table: Dimensions, _title: str, _look: RenderOptions) -> str:
    """Return the table as JSON."""
    return json.dumps({**table.to_json(), "caution": caution_of(table)}, indent=2) + "\n"
