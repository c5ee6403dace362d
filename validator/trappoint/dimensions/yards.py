"""The room on each track of a yard.

A yard is one place, in which one engine works. Its vehicles must be clear of the points at both
ends of their track, and behind a signal at the way out. Tracks joined within the yard count as one
length. A track without a length has no room here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.dimensions.borders import Border, Borders
from trappoint.dimensions.rooms import (
    Bound,
    bound_at,
    joint_ends,
    over_joints,
    room_between,
    to_its_end,
)
from trappoint.model.layout import BEYOND

if TYPE_CHECKING:
    from trappoint.dimensions.rooms import Room
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Head, Heading, Track, Yard


def derive_yard_rooms(facts: Facts) -> list[Room]:
    """Return the room on each yard track that has a length; its ``place`` is the yard."""
    layout = facts.network.layout
    if not layout.yards:
        return []
    looks = _Looks(facts)
    return [
        room_between(yard.id, track, True, track.length_mm, *looks.both_ways(yard, track))
        for yard in layout.yards.values()
        for track in (layout.tracks[name] for name in yard.tracks)
        if track.length_mm is not None
    ]


class _Looks:
    """The search from a yard track towards either end for the limit of a train."""

    def __init__(self, facts: Facts) -> None:
        network = facts.network
        self.layout = network.layout
        self.borders = Borders(network)
        self.joints = joint_ends(network.layout)
        self.holding: dict[tuple[str, Heading], Head] = {}
        for head, state in zip(network.heads, network.held_at, strict=True):
            if state >= 0 and network.place(state).kind == "yards":
                self.holding[head.track, head.heading] = head

    def both_ways(self, yard: Yard, track: Track) -> tuple[Bound, Bound]:
        """Return the limits at the up end and at the down end."""
        return self._bound(yard, track, "up"), self._bound(yard, track, "down")

    def _bound(self, yard: Yard, track: Track, heading: Heading) -> Bound:
        beyond, within = 0.0, set(yard.tracks)
        onward = over_joints(self.joints, track, heading)
        while True:
            head = self.holding.get((track.id, heading))
            if head is not None or track.end(heading).kind != "joint":
                return self._end(track, heading, beyond, head)
            end = track.end(heading)
            joined = next(onward, None)
            if joined is None:
                return Bound(None, None, "an unknown end")
            track, heading = joined
            if track.id not in within:
                # A joint beyond a held edge has a name of its own.
                name = end.name if end.name.startswith(BEYOND) else end.text
                return Bound(beyond, beyond, name)
            if track.length_mm is None:
                return Bound(None, None, f"{track.id}, which has no length")
            beyond += track.length_mm

    def _end(self, track: Track, heading: Heading, beyond: float, head: Head | None) -> Bound:
        end = track.end(heading)
        if end.kind == "edge" and head is None:
            return Bound(None, None, "the edge of the plan")
        away = 0.0 if head is None else to_its_end(self.layout, head) or 0.0
        held = "" if head is None else f"signal {head.signal}"
        leg = end if end.kind == "leg" else None
        border = Border(end.kind, end.text, held, leg, away)
        return bound_at(self.borders, border, beyond - away)
