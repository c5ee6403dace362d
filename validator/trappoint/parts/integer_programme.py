"""Integer programmes, solved by HiGHS to the exact optimum.

All unknowns and factors are whole numbers. Every answer is checked in whole numbers, so the
solver's rounding cannot change it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import reduce
from importlib import import_module
from importlib.util import find_spec
from math import gcd, isfinite
from time import monotonic
from typing import Any, NamedTuple

from trappoint.core.errors import NotInstalled

Terms = dict[int, int]
"""The factor of each unknown, by its number."""


class NotSolvedError(Exception):
    """Raised when the solver fails or returns a wrong answer: an internal error."""


class TooLateError(Exception):
    """Raised when the time limit ends the search before it finds an answer."""


MAX_COEFFICIENT = 2**44
"""Largest factor of wishes that are minimised together; sums stay exact enough."""


MAX_FOR_BOUND = 1.0
"""Most seconds for a bound after the time limit."""


class Stopped(NamedTuple):
    """The wish that the time limit interrupted, with its lower bound."""

    wish: int
    at_best: int | None
    """The lower bound; None if it is unknown."""


class Solution(NamedTuple):
    """The values of the unknowns, and of the wishes in order."""

    values: list[int]
    least: tuple[int, ...]
    stopped: Stopped | None = None
    """None if the solution is proven best."""


class _Group(NamedTuple):
    """Wishes that are minimised together: the first outweighs all the others."""

    terms: Terms
    first: int
    """The number of its first wish."""
    last: int
    """The number of its last wish."""
    span: int
    """One more than the range of the first wish's values."""
    unit: int
    """The step in which the first wish changes."""
    worth: int
    """The weight of one such step."""


@dataclass(slots=True)
class Programme:
    """Whole unknowns within bounds, and limits on their sums."""

    bounds: list[tuple[int, int]] = field(default_factory=list)
    rows: list[tuple[Terms, int | None, int | None]] = field(default_factory=list)

    def unknown(self, most: int, least: int = 0) -> int:
        """Add an unknown and return its number."""
        self.bounds.append((least, most))
        return len(self.bounds) - 1

    def ask(self, terms: Terms, *, least: int | None = None, most: int | None = None) -> None:
        """Require a sum to lie within limits."""
        self.rows.append((terms, least, most))

    def solve(self, wishes: list[Terms], until: float | None = None) -> Solution | None:
        """Minimise the first wish, then the second without raising the first, and so on.

        Returns None if no values meet all limits. At ``until``, a time of ``time.monotonic``, it
        returns the best solution found, with ``stopped`` set. Raises NotInstalled, TooLateError
        (no solution in time) and NotSolvedError (a fault of the solver).
        """
        highspy = load_highs()
        if any(not terms and least is not None and least > 0 for terms, least, _ in self.rows):
            return None
        model = _model(highspy, self)
        values: list[int] = []
        stopped: Stopped | None = None
        groups = self._grouped(wishes)
        for group in groups:
            for index in range(len(self.bounds)):
                model.changeColCost(index, float(group.terms.get(index, 0)))
            try:
                found = self._run(highspy, model, until, first=not values)
            except TooLateError:
                if not values:
                    raise
                stopped = Stopped(group.first, None)
                break
            if found is None:
                return None
            values = found
            if model.getModelStatus() == highspy.HighsModelStatus.kTimeLimit:
                at_best = _at_best(highspy, model, group, wishes[group.first])
                stopped = Stopped(group.first, at_best)
                break
            if group is not groups[-1]:
                for wish in wishes[group.first : group.last + 1]:
                    terms, _ = _in_lowest_terms(wish)
                    _add_row(highspy, model, terms, None, _sum_of(terms, values))
        least = tuple(_sum_of(wish, values) for wish in wishes)
        self._check(values)
        return Solution(values, least, stopped)

    def _grouped(self, wishes: list[Terms]) -> list[_Group]:
        """Group the wishes, from the last one, while the factors stay small enough.

        In a group, one step of a wish outweighs the whole range of the wishes after it.
        """
        groups: list[_Group] = []
        for number in reversed(range(len(wishes))):
            terms, unit = _in_lowest_terms(wishes[number])
            if not terms:
                continue
            span = 1 + sum(
                abs(factor) * (self.bounds[index][1] - self.bounds[index][0])
                for index, factor in terms.items()
            )
            own = _Group(terms, number, number, span, unit, 1)
            later = groups[-1] if groups else None
            if later is not None and max(map(abs, terms.values())) * later.span <= MAX_COEFFICIENT:
                joined = dict(later.terms)
                for index, factor in terms.items():
                    joined[index] = joined.get(index, 0) + factor * later.span
                groups[-1] = _Group(joined, number, later.last, span * later.span, unit, later.span)
            else:
                groups.append(own)
        return groups[::-1] or [_Group({}, 0, 0, 1, 1, 1)]

    def _run(
        self, highspy: Any, model: Any, until: float | None, *, first: bool
    ) -> list[int] | None:
        if until is not None:
            left = until - monotonic()
            if left <= 0:
                raise TooLateError
            model.setOptionValue("time_limit", model.getRunTime() + left)
        model.run()
        status, ends = model.getModelStatus(), highspy.HighsModelStatus
        if first and status in (ends.kInfeasible, ends.kUnboundedOrInfeasible):
            return None
        if status == ends.kTimeLimit:
            if model.getInfo().primal_solution_status != highspy.kSolutionStatusFeasible:
                raise TooLateError
        elif status not in (ends.kOptimal, ends.kModelEmpty):
            raise NotSolvedError(f"the solver stopped: {model.modelStatusToString(status)}")
        return [round(value) for value in model.getSolution().col_value[: len(self.bounds)]]

    def _check(self, values: list[int]) -> None:
        for value, (low, high) in zip(values, self.bounds, strict=True):
            if not low <= value <= high:
                raise NotSolvedError("the solver's answer is out of bounds")
        for terms, low_row, high_row in self.rows:
            total = _sum_of(terms, values)
            if (low_row is not None and total < low_row) or (
                high_row is not None and total > high_row
            ):
                raise NotSolvedError("the solver's answer does not add up")


def load_highs() -> Any:
    """Import and return the solver. Raises NotInstalled."""
    if find_spec("highspy") is None:
        raise NotInstalled(
            "finding the least cost needs the solver HiGHS, which is not installed: "
            "`pip install 'trappoint[parts]'`."
        )
    return import_module("highspy")


def _sum_of(terms: Terms, values: list[int]) -> int:
    return sum(factor * values[index] for index, factor in terms.items())


def _at_best(highspy: Any, model: Any, group: _Group, wish: Terms) -> int | None:
    """Return a lower bound of a group's first wish, from the search or the relaxed programme."""
    bounds: list[float] = [model.getInfo().mip_dual_bound / group.worth]
    terms, _ = _in_lowest_terms(wish)
    for index in group.terms:
        model.changeColCost(index, float(terms.get(index, 0)))
    model.setOptionValue("solve_relaxation", True)
    model.setOptionValue("time_limit", model.getRunTime() + MAX_FOR_BOUND)
    model.run()
    if model.getModelStatus() == highspy.HighsModelStatus.kOptimal:
        bounds.append(model.getInfo().objective_function_value)
    best = max((bound for bound in bounds if isfinite(bound)), default=None)
    # A little is taken off for the solver's rounding.
    return None if best is None else group.unit * int(best - 1e-6 * abs(best))


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
