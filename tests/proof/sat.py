"""A typed wrapper around the SAT solvers of python-sat, with the few formulas of the proofs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from pysat.solvers import Solver  # type: ignore[import-untyped]

ANSWERING = "minisat-gh"
CHECKING = "cadical153"
"""The second solver, which checks the proofs of the first."""


class Sat:
    """A solver for clauses, with questions under assumptions."""

    def __init__(self, name: str = ANSWERING) -> None:
        self._solver: Any = Solver(name=name)
        self._variables = 0
        self._true: set[int] = set()

    def __enter__(self) -> Sat:
        return self

    def __exit__(self, *_: object) -> None:
        self._solver.delete()

    def variable(self) -> int:
        self._variables += 1
        return self._variables

    def variables(self, number: int) -> list[int]:
        return [self.variable() for _ in range(number)]

    def add(self, *clause: int) -> None:
        self._solver.add_clause(clause)

    def either(self, literals: Sequence[int]) -> int:
        """Return a new variable that is true if and only if one of the literals is."""
        result = self.variable()
        for literal in literals:
            self.add(-literal, result)
        self.add(-result, *literals)
        return result

    def all_of(self, literals: Sequence[int]) -> int:
        """Return a new variable that is true if and only if all of the literals are."""
        result = self.variable()
        for literal in literals:
            self.add(-result, literal)
        self.add(result, *(-literal for literal in literals))
        return result

    def exactly_one(self, literals: Sequence[int]) -> None:
        """Add clauses so that exactly one variable is true, with a chain of auxiliary variables."""
        self.add(*literals)
        before = literals[0]
        for literal in literals[1:]:
            self.add(-before, -literal)
            following = self.variable()
            self.add(-before, following)
            self.add(-literal, following)
            before = following

    def is_possible(self, assumptions: Iterable[int] = ()) -> bool:
        possible: bool = self._solver.solve(assumptions=list(assumptions))
        self._true = {v for v in self._solver.get_model() or () if v > 0} if possible else set()
        return possible

    def is_true(self, variable: int) -> bool:
        """Return whether a variable is true in the last answer; an open variable is not."""
        return variable in self._true

    def the_true_one(self, variables: Sequence[int]) -> int:
        """Return the index of the variable that is true in the last answer."""
        return next(n for n, variable in enumerate(variables) if variable in self._true)

    def core(self) -> set[int]:
        """Return the assumptions that made the last question impossible."""
        return set(self._solver.get_core() or ())
