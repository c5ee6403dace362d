"""Placement problems, for lanes (least bending) and for places from left to right (least width).

A problem has unknown numbers, least distances between two of them, and prices on the distance of
two of them. The search begins with the least numbers that keep all least distances, then moves sets
of numbers in steps while the price falls (``convex_descent``). If all least distances are whole
numbers, the result has the lowest price of all; else the lowest that such steps reach.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import fsum

from trappoint.drawing.convex_descent import descend

WIDE_STEPS = (256.0, 64.0, 16.0, 4.0, 1.0)
"""The steps for problems without whole numbers, in drawing units."""

NEAR_STEPS = (16.0, 4.0, 1.0)
"""The steps from the answer to a similar problem."""


@dataclass(slots=True)
class PlacementProblem:
    """Unknown numbers with least distances and prices."""

    count: int = 0
    whole: list[bool] = field(default_factory=list)
    apart: dict[tuple[int, int], float] = field(default_factory=dict)
    """From (lower, upper) to the least value of ``upper - lower``."""
    prices: list[tuple[float, int, int]] = field(default_factory=list)
    """(weight, one, other): the price is the weight times the distance of the two numbers."""

    def number(self, *, whole: bool = False) -> int:
        """Add an unknown number; return its index."""
        self.whole.append(whole)
        self.count += 1
        return self.count - 1

    def at_least(self, lower: int, upper: int, gap: float) -> None:
        """Require that ``upper`` is at least ``lower + gap``."""
        if lower != upper:
            self.apart[lower, upper] = max(gap, self.apart.get((lower, upper), gap))

    def at_most(self, lower: int, upper: int, gap: float) -> None:
        """Require that ``upper`` is at most ``lower + gap``, if all least distances allow that."""
        if self.width() <= gap:
            self.at_least(upper, lower, -gap)

    def width(self) -> float:
        """Return the least distance of the least number and the greatest."""
        least = _least(self, [0.0] * self.count)
        return max(least, default=0.0) - min(least, default=0.0)

    def price(self, weight: float, one: int, other: int) -> None:
        """Add a price on the distance of two numbers."""
        if one != other and weight:
            self.prices.append((weight, one, other))

    def cost(self, values: list[float]) -> float:
        """Return the price of an answer."""
        return fsum(w * abs(values[a] - values[b]) for w, a, b in self.prices)


def solve(problem: PlacementProblem, start: list[float] | None = None) -> list[float]:
    """Return the numbers; the least is 0. ``start`` is an answer to a similar problem."""
    if not problem.count:
        return []
    steps = (1.0,) if any(problem.whole) else WIDE_STEPS if start is None else NEAR_STEPS
    values = descend(problem, _least(problem, start or [0.0] * problem.count), steps)
    least = min(values)
    return [round(value - least, 6) for value in values]


def _least(problem: PlacementProblem, start: list[float]) -> list[float]:
    """Return the least numbers from ``start`` upwards that keep all least distances."""
    values = list(start)
    for _ in range(problem.count + 1):
        changed = False
        for (lower, upper), gap in problem.apart.items():
            if values[upper] < values[lower] + gap - 1e-9:
                values[upper] = values[lower] + gap
                if problem.whole[upper]:
                    values[upper] = float(-(-values[upper] // 1))
                changed = True
        if not changed:
            break
    return values
