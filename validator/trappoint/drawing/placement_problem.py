"""Placement problems, for lanes (least bending) and for places from left to right (least width).

A problem has unknown numbers, least distances between two of them, and prices on the distance of
two of them. Its dual is a circulation (``network_simplex``). If all least distances are whole
numbers, the result has the lowest price of all. Numbers that need not be whole are on a fine grid;
among whole ones they keep the fraction of their least value. The result is the lowest on that grid.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil, floor, fsum
from typing import TYPE_CHECKING

from trappoint.drawing.network_simplex import Arc, NetworkSimplex

if TYPE_CHECKING:
    from collections.abc import Iterator

FINE = 0.01
"""The grid of numbers that need not be whole, in drawing units."""

SHARES = 10_000
"""The number of parts of a price of 1: prices are rounded to whole parts."""

TINY = 1e-6


@dataclass(slots=True)
class PlacementProblem:
    """Unknown numbers with least distances and prices."""

    count: int = 0
    whole: list[bool] = field(default_factory=list)
    apart: dict[tuple[int, int], float] = field(default_factory=dict)
    """From (lower, upper) to the least value of ``upper - lower``."""
    prices: list[tuple[float, int, int]] = field(default_factory=list)
    """(weight, one, other): the price is the weight times the distance of the two numbers."""

    simplex: NetworkSimplex | None = None
    """The network of the answer, once there is one."""

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
        least = self.least()
        return max(least, default=0.0) - min(least, default=0.0)

    def price(self, weight: float, one: int, other: int) -> None:
        """Add a price on the distance of two numbers."""
        if one != other and weight:
            self.prices.append((weight, one, other))

    def least(self) -> list[float]:
        """Return the least numbers from 0 upwards that keep all least distances."""
        onward: list[list[tuple[int, float]]] = [[] for _ in range(self.count)]
        for (lower, upper), gap in self.apart.items():
            onward[lower].append((upper, gap))
        values = [0.0] * self.count
        changed = set(range(self.count))
        for _ in range(self.count + 1):
            if not changed:
                break
            now, changed = sorted(changed), set()
            for lower in now:
                own = values[lower]
                for upper, gap in onward[lower]:
                    if values[upper] < own + gap - 1e-9:
                        values[upper] = own + gap
                        if self.whole[upper]:
                            values[upper] = float(ceil(values[upper]))
                        changed.add(upper)
        return values

    def cost(self, values: list[float]) -> float:
        """Return the price of an answer."""
        return fsum(w * abs(values[a] - values[b]) for w, a, b in self.prices)


def solve(problem: PlacementProblem, like: PlacementProblem | None = None) -> list[float]:
    """Return the numbers with the lowest price; of these, the least from 0 upwards.

    ``like`` is a similar problem that was solved before: it makes the search shorter and does not
    change the result. If no numbers keep all least distances, some are not kept.
    """
    if not problem.count:
        return []
    least = problem.least()
    unit = 1.0 if any(problem.whole) else FINE
    offsets = [value % 1.0 if unit == 1.0 else 0.0 for value in least]
    arcs = list(_arcs(problem, offsets, unit))
    simplex = like.simplex if like is not None else None
    if simplex is None or not simplex.regain(arcs):
        start = [floor((own - off) / unit + 0.5) for own, off in zip(least, offsets, strict=True)]
        simplex = NetworkSimplex(start)
        simplex.add(arcs)
    if not simplex.run():
        return least
    problem.simplex = simplex
    pairs = zip(simplex.least(), offsets, strict=True)
    return [round(value * unit + offset, 6) for value, offset in pairs]


def _arcs(problem: PlacementProblem, offsets: list[float], unit: float) -> Iterator[Arc]:
    """Yield the arcs of the network: the numbers are whole, in units beyond their offsets."""
    apart = problem.apart
    for (lower, upper), gap in apart.items():
        yield Arc(lower, upper, ceil((gap + offsets[lower] - offsets[upper]) / unit - TINY))
    for weight, one, other in problem.prices:
        if apart.get((one, other), -1.0) >= 0:
            one, other = other, one  # noqa: PLW2901 - the distance is the same
        # Between two whole numbers the price of the distance is that of its neighbours.
        away = offsets[one] - offsets[other]
        whole = floor(away + TINY)
        part = max(0.0, away - whole)
        for step, share in ((whole, 1.0 - part), (whole + 1, part)):
            room = round(weight * share * SHARES)
            if room > 0:
                yield Arc(one, other, step, room)
                if apart.get((other, one), -1.0) < 0 or away:
                    yield Arc(other, one, -step, room)
