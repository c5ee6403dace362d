"""Signals at which a train stands foul of points or a crossing, and how far back they belong."""

from __future__ import annotations

from math import ceil, floor, isinf
from typing import TYPE_CHECKING, NamedTuple

from trappoint.dimensions.parting import Partings
from trappoint.dimensions.rooms import before_element, joint_ends, to_its_end

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.dimensions.parting import Beyond
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import End, Head, Layout, Track

LEAST_MM = 0.5
"""The least distance that counts: nobody places a post more exactly."""


class Ahead(NamedTuple):
    """The leg that a signal stands before, and the distance from the signal to it."""

    head: Head
    end: End
    away_mm: float | None
    """None if a length is missing."""


class StandsFoul(NamedTuple):
    """A signal at which a train stands foul of the element ahead."""

    head: Head
    end: End
    """The leg that it stands before."""
    away_mm: float
    foul: Beyond
    """The distance from the leg at which a train is foul."""
    back_mm: float
    """By how much to move the signal back, so that a train is surely clear if this is known."""


def legs_ahead(facts: Facts) -> Iterator[Ahead]:
    """Yield the leg ahead of each head that holds trains and belongs to the plan."""
    layout, joints = facts.layout, joint_ends(facts.layout)
    for head, state in zip(facts.network.heads, facts.network.held_at, strict=True):
        if state < 0 or head.elsewhere:
            continue  # It is inside a yard and has no effect, or is on the neighbouring board.
        away, track, heading = before_element(layout, joints, head)
        yield Ahead(head, track.end(heading), away)


def standing_foul(facts: Facts, apart_mm: float) -> Iterator[StandsFoul]:
    """Yield the signals at which a train stands foul; stock passes at ``apart_mm``."""
    partings = Partings(facts.layout, apart_mm)
    for head, end, away in legs_ahead(facts):
        foul = partings.beyond(end)
        if away is not None and foul.least - away > LEAST_MM:
            yield StandsFoul(head, end, away, foul, back_from(foul, away))


def back_from(foul: Beyond, away_mm: float) -> float:
    """Return by how much to move a signal back that is ``away_mm`` from a leg, in mm."""
    return (foul.least if isinf(foul.most) else foul.most) - away_mm


def moved_back(layout: Layout, head: Head, back_mm: float) -> float | None:
    """Return the ``at_mm`` of a signal after it is moved back, to the next whole millimetre.

    None if the track has no length that is needed, or is too short.
    """
    track: Track = layout.tracks[head.track]
    before = to_its_end(layout, head)
    if before is None:
        return None
    if head.heading == "up":
        at = float(ceil(before + back_mm - 1e-6))
        return None if track.length_mm is not None and at >= track.length_mm else at
    if track.length_mm is None:
        return None
    at = float(floor(track.length_mm - before - back_mm + 1e-6))
    return at if at > 0 else None
