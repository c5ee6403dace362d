"""Locking tables for programs: one JSON object (RFC 8259), in ASCII."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.interlocking.locking_table import LockingTable


def render(table: LockingTable, title: str, look: RenderOptions) -> str:
    """Return the table as JSON."""
    return json.dumps(table.to_json(), indent=2) + "\n"
