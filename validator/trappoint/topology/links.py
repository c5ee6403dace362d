"""Links: lines between two points, from a leg of one to a leg of the other."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.model.layout import ACROSS, lie_word

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.model.layout import End, Layout

Meets = dict[str, list[tuple[str, str]]]
"""For each text of a track end (``p1.left``), the track ends that have it."""


class Link(NamedTuple):
    """A line that links legs of two points, possibly over joints and across diamonds."""

    tracks: tuple[str, ...]
    words: Mapping[str, str]
    """For each of the points, the word for its lie: ``normal``, ``reverse`` or the leg."""


def derive_links(layout: Layout) -> list[Link]:
    """Return the links of a plan with complete legs and joints, in the order of its points."""
    found: list[Link] = []
    meets: Meets = {}
    for track in layout.tracks.values():
        for side, end in (("up", track.up), ("down", track.down)):
            meets.setdefault(end.text, []).append((track.id, side))
    order = {name: number for number, name in enumerate(layout.points)}
    for points in layout.points.values():
        for leg in points.lies:
            tracks, end = _follow(layout, meets, *meets[f"{points.id}.{leg}"][0])
            other = layout.points.get(end.name) if end.kind == "leg" else None
            if other is None or end.leg not in other.lies or order[other.id] <= order[points.id]:
                continue
            words = {points.id: lie_word(points, leg), other.id: lie_word(other, end.leg)}
            found.append(Link(tracks, words))
    return found


def _follow(layout: Layout, meets: Meets, track: str, side: str) -> tuple[tuple[str, ...], End]:
    """Return the tracks of a line from one end of a track, and the end where the line stops.

    The line continues over joints and straight across diamonds.
    """
    tracks: dict[str, None] = {}
    while True:
        if track in tracks:
            return tuple(tracks), layout.tracks[track].up
        tracks[track] = None
        far = "down" if side == "up" else "up"
        end = layout.tracks[track].end("down" if far == "down" else "up")
        if end.kind == "joint":
            onward = [entry for entry in meets[end.text] if entry != (track, far)]
        elif end.name in layout.crossings and end.leg in ACROSS:
            diamond = layout.crossings[end.name].kind == "diamond"
            onward = meets[f"{end.name}.{ACROSS[end.leg]}"] if diamond else []
        else:
            onward = []
        if not onward:
            return tuple(tracks), end
        track, side = onward[0]
