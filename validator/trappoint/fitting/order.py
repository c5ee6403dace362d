"""The order of work: signals that hold trains first, of these what makes most safe to run.

At each step the verdict is asked of the plan with the signals that are not fitted yet taken out.
What it names is what may not be used yet: from which stand, running which way, no train may go on,
neither one that stands there nor one that comes in. Of the signals that hold trains the next is the
one that leaves the fewest such exits, the first in the plan where several do; signals that only
advise come after all of them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.facts.facts import Facts
from trappoint.verdict.local_test import MAX_FAILURES, MAX_STEPS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.model.layout import Layout, Signal
    from trappoint.model.settings import Settings

MAX_VERDICTS = 400
"""Verdicts that are asked for choosing; what is left then is taken in the order of the plan."""

MAX_SIGNALS = 100
"""Of a plan with more signals the order of the plan is kept, and what is barred is not told."""


class OpenExit(NamedTuple):
    """A stand, and the way in which no train may leave it yet."""

    stand: str
    """A track or a yard."""
    running: str | None
    """None in a yard."""


class FittingStage(NamedTuple):
    """One signal that is fitted, and what may not be used after it."""

    signal: str
    holds: bool
    """False if it only advises."""
    barred: tuple[OpenExit, ...]
    decided: bool
    """False if the plan is too large for all exits to be judged: any other may be barred too."""
    freed: tuple[OpenExit, ...]
    """What was barred before and is no longer."""


class WorkOrder(NamedTuple):
    """The order of work of one plan."""

    barred: tuple[OpenExit, ...]
    """What may not be used while no signal is fitted."""
    decided: bool
    stages: tuple[FittingStage, ...]


class _OrderState(NamedTuple):
    barred: tuple[OpenExit, ...]
    decided: bool


def order_of_work(
    layout: Layout, settings: Settings, only: Sequence[str] | None = None
) -> WorkOrder:
    """Return the order in which the signals of a plan are to be fitted.

    ``only``: these signals and no others, because there are no parts for the rest.
    """
    wanted = (
        list(layout.signals) if only is None else [id_ for id_ in layout.signals if id_ in only]
    )
    holding = [id_ for id_ in wanted if _holds(layout.signals[id_])]
    if len(wanted) > MAX_SIGNALS:
        ordered = [*holding, *(id_ for id_ in wanted if id_ not in holding)]
        unknown = _OrderState((), False)
        stages = [_stage(id_, id_ in holding, unknown, unknown) for id_ in ordered]
        return WorkOrder((), False, tuple(stages))
    fitted: list[str] = []
    state = start = _state(layout, settings, fitted)
    stages = []
    looks = MAX_VERDICTS
    while holding:
        tried = holding if looks >= len(holding) else holding[:1]
        looks -= len(tried)
        states = {id_: _state(layout, settings, [*fitted, id_]) for id_ in tried}
        best = min(tried, key=lambda id_: len(states[id_].barred))
        holding.remove(best)
        fitted.append(best)
        stages.append(_stage(best, True, state, states[best]))
        state = states[best]
    stages += [_stage(id_, False, state, state) for id_ in wanted if id_ not in fitted]
    return WorkOrder(start.barred, start.decided, tuple(stages))


def _holds(signal: Signal) -> bool:
    return any(head.holds for head in signal.heads)


def _stage(signal: str, holds: bool, before: _OrderState, after: _OrderState) -> FittingStage:
    freed = tuple(exit_ for exit_ in before.barred if exit_ not in after.barred)
    return FittingStage(signal, holds, after.barred, after.decided, freed)


def _state(layout: Layout, settings: Settings, fitted: Sequence[str]) -> _OrderState:
    """Judge the plan with only these signals."""
    signals = {id_: signal for id_, signal in layout.signals.items() if id_ in fitted}
    facts = Facts(layout._replace(signals=signals), settings)
    verdict, network = facts.verdict, facts.network
    barred: dict[OpenExit, None] = {}
    steps = 0
    for failure in verdict.failures:
        steps += len(failure.movement.steps) if failure.movement is not None else 0
        if failure.movement is not None or not failure.decided:
            place = network.place(failure.run.start)
            barred[OpenExit(place.id, network.way[failure.run.start] or None)] = None
    cut = len(verdict.failures) > MAX_FAILURES or steps > MAX_STEPS or verdict.unfinished
    return _OrderState(tuple(barred), verdict.holds is not None and not cut)
