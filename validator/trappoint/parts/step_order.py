"""The best answer of the programme whose steps can be done in some order.

The programme counts only the stock at the end. If recipes form a circle, this is not enough: a step
could use the parts that it yields itself. So this module looks for an order of the steps. Without
one, it adds a cut to the programme (a circle needs a part from outside to start). If cuts do not
help, it works the circles in stages. Stages exclude answers with more steps in circles than stages:
either these are proven no better, or the answer is marked as not proven.
"""

from __future__ import annotations

from typing import NamedTuple

from trappoint.parts.integer_programme import TooLateError
from trappoint.parts.ordering import RecipeStep, order_runs, out_of_reach
from trappoint.parts.parts_model import BenchModel, Cut, Outcome, PartsCase

STAGES = (4, 8, 16, 32)
MAX_CUTS = 200


class Settled(NamedTuple):
    """The best outcome, with its steps in order."""

    outcome: Outcome
    steps: tuple[RecipeStep, ...]
    proven: bool
    """Whether it is proven best."""


class UndecidedError(Exception):
    """Raised when neither a way nor a proof of none was found."""


def settle(case: PartsCase) -> Settled | None:
    """Return the best answer whose steps have an order; None if there is none.

    Raises UndecidedError, NotInstalled, TooLateError.
    """
    cuts: list[Cut] = []
    while True:
        outcome = BenchModel(case, cuts).solve()
        if outcome is None:
            return None
        steps = _ordered(case, outcome)
        if steps is not None:
            return Settled(outcome, steps, outcome.gap is None)
        missing, waiting = out_of_reach(
            outcome.stock(case.store), (step.recipe for step in outcome.runs)
        )
        if not waiting or len(cuts) >= MAX_CUTS:
            return _settle_in_stages(case, cuts)
        cuts.append(Cut(frozenset(missing), frozenset(waiting)))


def _ordered(case: PartsCase, outcome: Outcome) -> tuple[RecipeStep, ...] | None:
    return order_runs(outcome.stock(case.store), outcome.runs)


def _settle_in_stages(case: PartsCase, cuts: list[Cut]) -> Settled | None:
    best: Settled | None = None
    for stages in STAGES:
        try:
            staged = BenchModel(case, cuts, rounds=stages).solve()
            beyond = BenchModel(case, cuts, least_round=stages + 1).solve()
        except TooLateError:
            if best is None:
                raise
            break
        if staged is None and beyond is None:
            return None
        if staged is None:
            continue
        steps = _ordered(case, staged)
        if steps is None:  # the stages prove an order, but the search for it hit its limit
            continue
        sure = staged.gap is None and (beyond is None or beyond.gap is None)
        proven = sure and (beyond is None or beyond.least >= staged.least)
        best = Settled(staged, steps, proven)
        if proven:
            break
    if best is None:
        raise UndecidedError
    return best
