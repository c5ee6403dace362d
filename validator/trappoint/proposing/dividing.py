"""Signals along a long one-way line, so that one train can follow another.

A line for one direction that has room for three trains is divided in its middle. On a line for both
directions a signal there would only bring trains face to face. Both are common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.facts.facts import Facts
from trappoint.model.building import build_layout

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.model.layout import Layout, Track

TRAINS = 3
"""The number of trains for which a line must have room."""

UNKNOWN_TRAIN_MM = 1_200
"""The length of a train in a plan that lists no trains and no platforms with lengths, in mm."""


def divide_lines(data: dict[str, Any], sidings: frozenset[str], free: Any) -> list[str]:
    """Add a stop signal in the middle of each long one-way line; return their ids.

    ``free`` returns a free id for a signal. If the plan would not hold with one, it is left out.
    """
    layout = build_layout(data)
    added = []
    for track in _long_lines(layout, sidings):
        heading = track.headings[0]
        signals = data.setdefault("signals", {})
        name = free(signals)
        signals[name] = {
            "track": track.id, "for": heading, "at_mm": round((track.length_mm or 0) / 2),
            "mount": "post", "arms": [{"id": name}],
        }  # fmt: skip
        if Facts(build_layout(data)).verdict.holds:
            added.append(name)
        else:
            del signals[name]
    return added


def _long_lines(layout: Layout, sidings: frozenset[str]) -> Iterator[Track]:
    served = {track for platform in layout.platforms.values() for track in platform.tracks}
    in_yards = {track for yard in layout.yards.values() for track in yard.tracks}
    signalled = {head.track for head in layout.holding_heads() if head.at_mm is not None}
    least = TRAINS * _train_mm(layout)
    for track in layout.tracks.values():
        if track.id in served | in_yards | sidings | signalled or len(track.headings) != 1:
            continue
        if track.length_mm is not None and track.length_mm >= least and "buffer" not in (
            track.up.kind, track.down.kind
        ):  # fmt: skip
            yield track


def _train_mm(layout: Layout) -> float:
    """Return the length of the longest train, or else of the longest platform."""
    trains = [train.length_mm or 0 for train in layout.trains.values()]
    platforms = [platform.length_mm or 0 for platform in layout.platforms.values()]
    return max(trains, default=0) or max(platforms, default=0) or UNKNOWN_TRAIN_MM
