"""Held edges, written out as track with a stop signal beyond them.

Written from the format's page alone ("Edges").
"""

from __future__ import annotations

from collections import Counter
from typing import Any

Plan = dict[str, Any]
BEYOND = "edge:"
"""The beginning of the names of tracks and signals beyond held edges."""


def with_held_edges(plan: Plan) -> Plan:
    """Return the plan with a track and a signal for each track end at a held edge."""
    held = {f"{BEYOND}{name}" for name, edge in plan.get("edges", {}).items() if edge.get("held")}
    if not held:
        return plan
    tracks = dict(plan["tracks"])
    signals = dict(plan.get("signals", {}))
    counts: Counter[str] = Counter()
    for track_id, track in plan["tracks"].items():
        for end, inward in (("up", "down"), ("down", "up")):
            edge = track[end]
            if edge not in held or track.get("running", "both") not in ("both", inward):
                continue
            counts[edge] += 1
            beyond = edge if counts[edge] == 1 else f"{edge}.{counts[edge]}"
            tracks[track_id] = {**tracks[track_id], end: f"joint:{beyond}"}
            tracks[beyond] = {end: edge, inward: f"joint:{beyond}"}
            if "running" in track:
                tracks[beyond]["running"] = track["running"]
            signals[beyond] = {"track": beyond, "for": inward, "arms": [{"id": beyond}]}
    return {**plan, "tracks": tracks, "signals": signals}
