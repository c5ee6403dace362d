"""The signalman's sheets of sessions as one JSON object (RFC 8259)."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.operation.session_sheet import SessionSheet


def render(sheets: list[SessionSheet], _title: str, _look: RenderOptions) -> str:
    """Return the sheets as JSON."""
    data = {"sessions": [sheet.to_json() for sheet in sheets], "caution": CAUTION}
    return json.dumps(data, indent=2) + "\n"
