"""The kinds of things in a plan: one table for all who go through a plan by its keys."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

NAMED_BY_KEY = (
    *("tracks", "points", "crossings", "turntables", "platforms", "signals", "yards"),
    *("trains", "levers", "scenes", "sessions", "boards"),
)
"""The maps of a plan whose keys are ids."""

ONE_OF: Mapping[str, str] = {
    "tracks": "track",
    "points": "points",
    "crossings": "crossing",
    "turntables": "turntable",
    "platforms": "platform",
    "signals": "signal",
    "yards": "yard",
    "trains": "train",
    "levers": "lever",
    "scenes": "scene",
    "sessions": "session",
    "edges": "edge",
    "boards": "board",
    "accept": "accepted finding",
    "joins": "join",
}
"""What one entry of each map or list at the top of a plan is called."""

ELEMENTS = ("points", "crossings", "turntables")
"""What the ends of tracks meet with legs."""

LINES = ("joints", "edges")
"""Names that nothing defines: the ends of tracks that have them share them."""
