"""Least bending and least width: a small language for both, and the search for the best answer.

The numbers are unknown; some are so much more than others at least; the distance of two of them has
a price. The search begins with the least numbers that keep all distances, then moves them in steps
while the price falls (``convex_descent``). All distances are kept, and the price is as low as such
steps can make it: the lowest of all where every distance asked for is whole.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import fsum

from trappoint.drawing.convex_descent import descend

WIDE_STEPS = (256.0, 64.0, 16.0, 4.0, 1.0)
"""How far numbers are moved that need not be whole."""


@dataclass(slots=True)
class PlacementProblem:
    """Find numbers so that the price is least."""

    count: int = 0
    whole: list[bool] = field(default_factory=list)
    apart: dict[tuple[int, int], float] = field(default_factory=dict)
    """For two numbers (lower, upper): ``upper - lower`` is at least this."""
    prices: list[tuple[float, int, int]] = field(default_factory=list)
    """Weight times the distance of two numbers."""

    def number(self, *, whole: bool = False) -> int:
        """Add an unknown number."""
        self.whole.append(whole)
        self.count += 1
        return self.count - 1

    def at_least(self, lower: int, upper: int, gap: float) -> None:
        """Ask that ``upper`` is ``lower`` and ``gap`` more, or yet more."""
        if lower != upper:
            self.apart[lower, upper] = max(gap, self.apart.get((lower, upper), gap))

    def price(self, weight: float, one: int, other: int) -> None:
        """Put a price on the distance of two numbers."""
        if one != other and weight:
            self.prices.append((weight, one, other))

    def cost(self, values: list[float]) -> float:
        """Return the price of an answer."""
        return fsum(w * abs(values[a] - values[b]) for w, a, b in self.prices)


def solve(problem: PlacementProblem) -> list[float]:
    """Return the numbers, the least of them 0."""
    if not problem.count:
        return []
    steps = (1.0,) if any(problem.whole) else WIDE_STEPS
    values = descend(problem, _least(problem), steps)
    least = min(values)
    return [round(value - least, 6) for value in values]


def _least(problem: PlacementProblem) -> list[float]:
    """Return the least numbers that keep all distances."""
    values = [0.0] * problem.count
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
