"""How far a distant stands before the stop signal that it speaks for, in the model and in scale.

Sources: Findlay, Working and Management of an English Railway, pp. 82-84 (1,000 yards from the
home, 800 on a rising gradient); the clearing point of British absolute block, a quarter of a mile
(440 yards) beyond the home. Models have no such lengths: theirs are compressed, and rightly so.
"""

from __future__ import annotations

from fractions import Fraction
from math import isfinite
from typing import TYPE_CHECKING, NamedTuple

from trappoint.fitting.rooms import joint_ends, over_joints, to_its_end, total

if TYPE_CHECKING:
    from trappoint.facts import Facts
    from trappoint.fitting.rooms import Joints
    from trappoint.layout import Head

YARD_MM = Fraction(9144, 10)
"""The international yard."""

FINDLAY_YARDS = 1000
QUARTER_MILE_YARDS = 440


class Distance(NamedTuple):
    """From a distant to the stop signal that a train meets first beyond it."""

    arm: str
    signal: str
    arm_index: int
    to: str
    model_mm: float


def scaled_yards(yards: float, ratio: Fraction) -> float:
    """Return so many yards in a scale, in mm: 440 yards at 1:76.2 are 5,280 mm."""
    return float(Fraction(yards) * YARD_MM / ratio)


def in_yards(model_mm: float, ratio: Fraction) -> float:
    """Return how many yards a length of the model is in its scale."""
    return model_mm * float(ratio / YARD_MM)


def distant_distances(facts: Facts) -> list[Distance]:
    """Return the distance of every distant of which it is known: over tracks and joints alone."""
    found = []
    joints = joint_ends(facts.layout)
    for distant in facts.distants:
        arm = distant.arm
        head = next(one for one in facts.layout.signals[arm.signal].heads if arm in one.arms)
        ahead = [facts.network.heads[number] for number in distant.first]
        if len(ahead) == 1:
            far = _between(facts, joints, head, ahead[0])
            if far is not None and isfinite(far):
                found.append(Distance(arm.id, arm.signal, arm.index, ahead[0].signal, far))
    return found


def _between(facts: Facts, joints: Joints, head: Head, ahead: Head) -> float | None:
    """Return how far one head stands beyond another, without an element between them."""
    layout = facts.layout
    start, there = to_its_end(layout, head), to_its_end(layout, ahead)
    if (head.track, head.heading) == (ahead.track, ahead.heading):
        far = None if start is None or there is None else start - there
        return far if far is not None and far > 0 else None
    lengths = [start]
    for track, heading in over_joints(layout, joints, layout.tracks[head.track], head.heading):
        lengths.append(track.length_mm)
        if (track.id, heading) == (ahead.track, ahead.heading):
            return total([*lengths, None if there is None else -there])
    return None
