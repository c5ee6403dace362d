"""A small language for integer programmes, solved by HiGHS to the exact optimum.

All numbers are whole, and so are all that is asked of them; every answer is checked in whole
numbers before it is given, so that no rounding of the solver can pass.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import reduce
from importlib import import_module
from importlib.util import find_spec
from math import gcd
from typing import Any, NamedTuple

Terms = dict[int, int]
"""From the numbers of unknowns to their factors."""


class NotInstalled(Exception):  # noqa: N818 - it names what was met, as the message does
    """The solver is not there. The message says how to get it."""


class NotSolvedError(Exception):
    """The solver gave an answer that is none, or gave up: a fault, whatever the input."""


class Solution(NamedTuple):
    """Values of the unknowns, and of each thing that was to be least, in order."""

    values: list[int]
    least: tuple[int, ...]


@dataclass(slots=True)
class Programme:
    """Whole numbers within bounds, and rows that hold of them."""

    bounds: list[tuple[int, int]] = field(default_factory=list)
    rows: list[tuple[Terms, int | None, int | None]] = field(default_factory=list)

    def unknown(self, most: int, least: int = 0) -> int:
        """Add an unknown and return its number."""
        self.bounds.append((least, most))
        return len(self.bounds) - 1

    def ask(self, terms: Terms, *, least: int | None = None, most: int | None = None) -> None:
        """Ask that a sum lies within limits."""
        self.rows.append((terms, least, most))

    def solve(self, wishes: list[Terms]) -> Solution | None:
        """Make the first wish least, then the second at that, and so on. None where none can be.

        Raises NotInstalled; NotSolvedError by a fault of the solver.
        """
        highspy = load_highs()
        if any(not terms and least is not None and least > 0 for terms, least, _ in self.rows):
            return None
        model = _model(highspy, self)
        values: list[int] = []
        least: list[int] = []
        for terms in wishes:
            scaled, unit = _in_lowest_terms(terms)
            for index in range(len(self.bounds)):
                model.changeColCost(index, float(scaled.get(index, 0)))
            found = self._run(highspy, model, first=not values)
            if found is None:
                return None
            values = found
            reached = sum(factor * values[index] for index, factor in scaled.items())
            least.append(reached * unit)
            if scaled:
                _add_row(highspy, model, scaled, None, reached)
        self._check(values, wishes, least)
        return Solution(values, tuple(least))

    def _run(self, highspy: Any, model: Any, *, first: bool) -> list[int] | None:
        model.run()
        status = model.getModelStatus()
        if first and status in (
            highspy.HighsModelStatus.kInfeasible,
            highspy.HighsModelStatus.kUnboundedOrInfeasible,
        ):
            return None
        if status not in (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kModelEmpty):
            raise NotSolvedError(f"the solver stopped: {model.modelStatusToString(status)}")
        return [round(value) for value in model.getSolution().col_value[: len(self.bounds)]]

    def _check(self, values: list[int], wishes: list[Terms], least: list[int]) -> None:
        for value, (low, high) in zip(values, self.bounds, strict=True):
            if not low <= value <= high:
                raise NotSolvedError("the solver's answer is out of bounds")
        asked = [
            *self.rows,
            *((wish, None, most) for wish, most in zip(wishes, least, strict=True)),
        ]
        for terms, low_row, high_row in asked:
            total = sum(factor * values[index] for index, factor in terms.items())
            if (low_row is not None and total < low_row) or (
                high_row is not None and total > high_row
            ):
                raise NotSolvedError("the solver's answer does not add up")


def load_highs() -> Any:
    """Import the solver. Raises NotInstalled."""
    if find_spec("highspy") is None:
        raise NotInstalled(
            "finding the least cost needs the solver HiGHS, which is not installed: "
            "`pip install 'trappoint[parts]'`."
        )
    return import_module("highspy")


def _in_lowest_terms(terms: Terms) -> tuple[Terms, int]:
    kept = {index: factor for index, factor in terms.items() if factor}
    unit = reduce(gcd, kept.values(), 0) or 1
    return {index: factor // unit for index, factor in kept.items()}, unit


def _model(highspy: Any, programme: Programme) -> Any:
    # The public class writes a banner to standard output when it is made; its core does not.
    model: Any = getattr(highspy, "_Highs", highspy.Highs)()
    for name, value in (
        ("output_flag", False), ("threads", 1), ("random_seed", 0), ("mip_rel_gap", 0.0),
        # All sums are whole: what is less than one better is not better.
        ("mip_abs_gap", 0.5), ("mip_feasibility_tolerance", 1e-7),
    ):  # fmt: skip
        model.setOptionValue(name, value)
    count = len(programme.bounds)
    model.addVars(
        count,
        [float(low) for low, _ in programme.bounds],
        [float(high) for _, high in programme.bounds],
    )
    for index in range(count):
        model.changeColIntegrality(index, highspy.HighsVarType.kInteger)
    for terms, low, high in programme.rows:
        _add_row(highspy, model, terms, low, high)
    return model


def _add_row(highspy: Any, model: Any, terms: Terms, low: int | None, high: int | None) -> None:
    kept = {index: factor for index, factor in terms.items() if factor}
    model.addRow(
        -highspy.kHighsInf if low is None else float(low),
        highspy.kHighsInf if high is None else float(high),
        len(kept),
        list(kept),
        [float(factor) for factor in kept.values()],
    )
