"""Least bending and least width: a small language for both, and two ways to solve it.

Unknown numbers, each so much more than another at least, and a price on how far two of them are
apart: with whole numbers a mixed-integer programme, which HiGHS solves to its optimum where
``highspy`` is installed (the extra ``draw``). Without it, they are moved in steps while the price
falls (``descending``): all that must hold then holds as well, and the price is as low but for what
lies between the steps.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

NODES = 2_000
"""Branches that HiGHS may look into: a limit that is the same on every machine, as time is not."""


WIDE_STEPS = (256.0, 64.0, 16.0, 4.0, 1.0)
"""How far the plain way moves numbers that need not be whole."""


@dataclass(slots=True)
class Problem:
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
        return sum(w * abs(values[a] - values[b]) for w, a, b in self.prices)


def solve(problem: Problem, *, highs: bool | None = None) -> list[float]:
    """Return the numbers, the least of them 0.

    ``highs`` says whether to use HiGHS (default: where it is installed).
    """
    if not problem.count:
        return []
    if highs is None:
        highs = has_highs()
    found = _solve_with_highs(problem) if highs else None
    values = found if found is not None else _solve_plainly(problem)
    least = min(values)
    return [round(value - least, 6) for value in values]


def has_highs() -> bool:
    """Tell whether HiGHS is installed."""
    from importlib.util import find_spec

    return find_spec("highspy") is not None


def _solve_with_highs(problem: Problem) -> list[float] | None:
    from importlib import import_module

    highspy: Any = import_module("highspy")
    # The public class writes a banner to standard output when it is made; its core does not.
    model: Any = getattr(highspy, "_Highs", highspy.Highs)()
    for name, value in (
        ("output_flag", False), ("threads", 1), ("random_seed", 0), ("mip_max_nodes", NODES),
    ):  # fmt: skip
        model.setOptionValue(name, value)
    infinity = highspy.kHighsInf
    model.addVars(problem.count, [0.0] * problem.count, [1e6] * problem.count)
    for index, whole in enumerate(problem.whole):
        if whole:
            model.changeColIntegrality(index, highspy.HighsVarType.kInteger)
    for (lower, upper), gap in problem.apart.items():
        model.addRow(gap, infinity, 2, [upper, lower], [1.0, -1.0])
    # Of all answers that cost the same, the one nearest to 0.
    costs = [1e-4] * problem.count
    for weight, *pair in problem.prices:
        one, other = pair if problem.apart.get((pair[1], pair[0]), -1) < 0 else pair[::-1]
        if problem.apart.get((one, other), -1) >= 0:
            costs[other] += weight
            costs[one] -= weight
            continue
        distance = model.getNumCol()
        model.addVar(0.0, infinity)
        costs.append(weight)
        model.addRow(0.0, infinity, 3, [distance, one, other], [1.0, 1.0, -1.0])
        model.addRow(0.0, infinity, 3, [distance, one, other], [1.0, -1.0, 1.0])
    for index, cost in enumerate(costs):
        model.changeColCost(index, cost)
    model.run()
    solution = model.getSolution()
    if not solution.value_valid:
        return None
    values = list(solution.col_value)[: problem.count]
    return [float(round(v)) if whole else v for v, whole in zip(values, problem.whole, strict=True)]


def _solve_plainly(problem: Problem) -> list[float]:
    """Begin with the least numbers that will do, then move them while the price falls."""
    from trappoint.drawing.descending import descend

    steps = (1.0,) if any(problem.whole) else WIDE_STEPS
    return descend(problem, _least(problem), steps)


def _least(problem: Problem) -> list[float]:
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
