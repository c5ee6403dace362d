"""From what adds up to what can be done: the best answer whose steps have an order.

The programme counts what is there at the end. Where recipes go round in circles, that is not
enough: a step may live on what it makes itself. So the answer is tried in order. Where it has
none, it is forbidden for its reason (a circle must be started from outside); where that reason is
not all, the circles are worked in stages. Stages leave out answers with more steps in circles than
stages; these are proven to be no better, or the answer is said not to be proven.
"""

from __future__ import annotations

from typing import NamedTuple

from trappoint.parts.integer_programme import TooLateError
from trappoint.parts.ordering import RecipeStep, order_runs, out_of_reach
from trappoint.parts.parts_model import BenchModel, Cut, Outcome, PartsCase

STAGES = (4, 8, 16, 32)
MAX_CUTS = 200


class Settled(NamedTuple):
    """The best outcome, its steps in order."""

    outcome: Outcome
    steps: tuple[RecipeStep, ...]
    proven: bool
    """Whether nothing can be better."""


class UndecidedError(Exception):
    """There may be a way, but none was found."""


def settle(case: PartsCase) -> Settled | None:
    """Find the best answer that can be carried out; None if there is none.

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
        if steps is None:  # there is an order, by the stages, but too many to try
            continue
        sure = staged.gap is None and (beyond is None or beyond.gap is None)
        proven = sure and (beyond is None or beyond.least >= staged.least)
        best = Settled(staged, steps, proven)
        if proven:
            break
    if best is None:
        raise UndecidedError
    return best
