"""The kinds of things in a plan, for code that reads a plan key by key."""

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
"""The maps that define the ids of things. (The ends of tracks define the names of edges.)"""

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
"""The noun for one thing of each kind. (A kind is the key of a map or list, one of ``LINES``, or
``arms``.)"""

ELEMENTS = ("points", "crossings", "turntables")
"""The kinds whose legs the ends of tracks meet."""

LINES = ("joints", "edges")
"""The kinds without definitions: ends of tracks with the same name belong together."""
