"""A thin, typed cover over the SAT solvers of python-sat, and the few formulas needed here."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from pysat.solvers import Solver  # type: ignore[import-untyped]

ANSWERING = "minisat-gh"
CHECKING = "cadical153"
"""What is proved with one solver is checked with another one."""


class Sat:
    """A solver that clauses are added to, and that is asked under assumptions."""

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
        """A new variable that is true where one of the literals is, and only there."""
        result = self.variable()
        for literal in literals:
            self.add(-literal, result)
        self.add(-result, *literals)
        return result

    def all_of(self, literals: Sequence[int]) -> int:
        """A new variable that is true where all of the literals are, and only there."""
        result = self.variable()
        for literal in literals:
            self.add(-result, literal)
        self.add(result, *(-literal for literal in literals))
        return result

    def exactly_one(self, literals: Sequence[int]) -> None:
        """Of these just one is true, told with a chain of "one before this"."""
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
        """Whether a variable is true in the last answer; one that is left open is not."""
        return variable in self._true

    def the_true_one(self, variables: Sequence[int]) -> int:
        """The position of the variable that is true in the last answer."""
        return next(n for n, variable in enumerate(variables) if variable in self._true)

    def core(self) -> set[int]:
        """The assumptions that made the last question impossible."""
        return set(self._solver.get_core() or ())
