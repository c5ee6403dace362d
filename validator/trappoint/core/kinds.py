"""The kinds of things in a plan: one table for all who go through a plan by its keys."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

MAPS = (
    *("tracks", "points", "crossings", "turntables", "platforms", "signals", "yards"),
    *("trains", "levers", "scenes", "sessions", "edges", "boards"),
)
"""The maps of a plan, each keyed by id."""

NAMED_BY_KEY = tuple(kind for kind in MAPS if kind != "edges")
"""The maps whose keys give things their ids. (Edges get their names from the ends of tracks.)"""

LISTS = ("accept", "joins", "worked_together")
"""The lists of a plan."""

ONE_OF: Mapping[str, str] = {
    "tracks": "track",
    "points": "points",
    "crossings": "crossing",
    "turntables": "turntable",
    "platforms": "platform",
    "signals": "signal",
    "arms": "arm",
    "yards": "yard",
    "trains": "train",
    "levers": "lever",
    "scenes": "scene",
    "sessions": "session",
    "joints": "joint",
    "edges": "edge",
    "boards": "board",
    "accept": "accepted finding",
    "joins": "join",
}
"""What one thing of each kind is called. (A kind is the key of a map or list, or one of those in
``LINES``, or ``arms``.)"""

ELEMENTS = ("points", "crossings", "turntables")
"""What the ends of tracks meet with legs."""

LINES = ("joints", "edges")
"""Names that nothing defines: the ends of tracks that have them share them."""
