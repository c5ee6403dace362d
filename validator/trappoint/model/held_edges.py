"""Adds a piece of track and a stop signal beyond each held edge of a layout.

Only the network, the code built on it and the proposals use this layout; all other code uses the
plan as written. The track, the signal and its arm share the id ``edge:NAME`` (``edge:NAME.2`` at a
second track end), which the format does not allow in a plan. ``schema/README.md`` defines held
edges.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.model.layout import HEADINGS, Arm, End, Head, Signal, Track, opposite

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.model.layout import Heading, Layout


def held_ends(layout: Layout) -> Iterator[tuple[Track, Heading, str]]:
    """Yield each track with an end at a held edge by which trains come on.

    With it come the heading of those trains and the id of the track and signal beyond the edge.
    """
    held = {edge.name for edge in layout.edges if edge.held}
    count: dict[str, int] = {}
    for track in layout.tracks.values() if held else ():
        for heading in HEADINGS:
            end = track.end(opposite(heading))
            if end.kind == "edge" and end.name in held and track.allows(heading):
                number = count[end.name] = count.get(end.name, 0) + 1
                # Names contain no dot, so the id for a second end cannot be that of another edge.
                yield track, heading, end.text if number == 1 else f"{end.text}.{number}"


def with_beyond(layout: Layout) -> Layout:
    """Return the layout with a track and a signal beyond each end that ``held_ends`` yields."""
    tracks, signals = dict(layout.tracks), dict(layout.signals)
    for given, heading, name in held_ends(layout):
        track, joint = tracks[given.id], End(f"joint:{name}", "joint", name)
        edge = track.end(opposite(heading))
        ends = (edge, joint) if heading == "down" else (joint, edge)
        tracks[given.id] = (
            track._replace(up=joint) if heading == "down" else track._replace(down=joint)
        )
        tracks[name] = _track(name, ends, track)
        signals[name] = _signal(name, heading)
    if len(tracks) == len(layout.tracks):
        return layout
    return layout._replace(tracks=tracks, signals=signals)


def _track(name: str, ends: tuple[End, End], own: Track) -> Track:
    return Track(name, *ends, own.running, True, None, None, None, "", None, stand_by="end")


def _signal(name: str, heading: Heading) -> Signal:
    arm = Arm(name, name, 0, "stop", (), 1, None, (), {}, (), name, heading, None, None)
    heads = (Head(name, name, heading, None, (arm,)),)
    return Signal(name, name, heading, None, None, "post", "upper-quadrant", (arm,), (), heads)
