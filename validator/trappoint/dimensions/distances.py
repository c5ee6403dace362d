"""The distance from a distant to its stop signal, in the model and in scale.

Source: G. Findlay, The Working and Management of an English Railway, pp. 82-84: 1,000 yards from
the home, 800 on a rising gradient. Models rarely have room for such lengths.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from fractions import Fraction
from math import isfinite
from typing import TYPE_CHECKING, NamedTuple

from trappoint.dimensions.borders import piece_length, run_over, total
from trappoint.dimensions.ways import path_length, ways_to_heads

if TYPE_CHECKING:
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Head
    from trappoint.topology.network import Network

YARD_MM = Fraction(9144, 10)
"""The international yard."""

FINDLAY_YARDS = 1000
"""From a distant to the home signal."""

FINDLAY_RISING_YARDS = 800
"""The same on a rising gradient."""


class Distance(NamedTuple):
    """The distance from a distant to the first stop signal beyond it."""

    arm: str
    signal: str
    arm_index: int
    to: str
    model_mm: float


def scaled_yards(yards: float, ratio: Fraction) -> float:
    """Return a length of full size in scale, in mm: 440 yards at 1:76.2 are 5,280 mm."""
    return float(Fraction(yards) * YARD_MM / ratio)


def in_yards(model_mm: float, ratio: Fraction) -> float:
    """Return a length of the model in full size, in yards."""
    return model_mm * float(ratio / YARD_MM)


def distant_distances(facts: Facts) -> list[Distance]:
    """Return the distance of each distant; those with a length missing on the way are left out."""
    found = []
    for distant in facts.distants:
        arm = distant.arm
        head = next(one for one in facts.layout.signals[arm.signal].heads if arm in one.arms)
        if len(distant.first) == 1:
            far = _between(facts, head, distant.first[0])
            if far is not None and isfinite(far):
                ahead = facts.network.heads[distant.first[0]]
                found.append(Distance(arm.id, arm.signal, arm.position, ahead.signal, far))
    return found


def _between(facts: Facts, head: Head, ahead: int) -> float | None:
    """Return how far the signal ahead stands beyond a head, in mm; None if it is unknown."""
    network = facts.network
    start = network.section_state(head.track, head.heading, head.at_mm)
    if start is None:
        return None
    rest, target = _to_section_end(network, head, start), network.held_at[ahead]
    if target == start:
        return rest or None
    for path in ways_to_heads(network, start, past_shunts=True):
        if path[-1] == target:
            return total([rest, path_length(network, path)])
    return None


def _to_section_end(network: Network, head: Head, state: int) -> float | None:
    """Return the distance from a head to the end of its section ahead, in mm; None if unknown."""
    cuts, part = network.cuts[head.track], 0
    if head.at_mm is None:
        part = len(cuts) if head.heading == "down" else 0
    else:
        beside = bisect_left if head.heading == "down" else bisect_right
        part = beside(cuts, head.at_mm)
    pieces = run_over(network, state)
    number = next(n for n, p in enumerate(pieces) if (p.track, p.part) == (head.track, part))
    onward = (piece_length(network, piece) for piece in pieces[number + 1 :])
    return total([_left(network, head, part), *onward])


def _left(network: Network, head: Head, part: int) -> float | None:
    """Return the distance from a head to the end of its piece ahead, in mm; None if unknown."""
    cuts = network.cuts[head.track]
    if head.at_mm is None:
        return 0.0
    if head.heading == "up":
        return head.at_mm - (cuts[part - 1] if part else 0.0)
    end = cuts[part] if part < len(cuts) else network.layout.tracks[head.track].length_mm
    return None if end is None else end - head.at_mm
