"""The order of work: the signals that hold trains first, then those that only advise.

Each step derives the verdict of the plan without the signals that are not fitted yet. Each failure
names a barred exit: a stand, and a direction in which no train may leave it, whether it stands
there or comes in. The next signal is the one that leaves the fewest barred exits; of equals, the
first in the plan.

To find it costs a verdict for each signal that is left. If the plan is too large for that, the next
signal is the one that closes the most ways out (``ways_out``). The exits that are still barred come
from a verdict all the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.facts.facts import Facts
from trappoint.fitting.ways_out import WaysOut
from trappoint.verdict.local_test import MAX_FAILURES, MAX_STEPS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.model.layout import Layout, Signal
    from trappoint.model.settings import Settings

MAX_VERDICTS = 400
"""Number of verdicts that may be derived to choose; after them ``ways_out`` decides."""

MAX_SIGNALS = 100
"""Most signals of a plan for which verdicts are derived to choose."""

MAX_WORK = 40_000
"""Most verdicts for the steps, each counted with the number of signals to fit. Beyond that only
every second, third or further step has a verdict."""


class OpenExit(NamedTuple):
    """A stand, and a direction in which no train may leave it yet."""

    stand: str
    """A track or a yard."""
    running: str | None
    """``up`` or ``down``; None for a yard."""
    name: str = ""
    """The name of the track or yard; empty if the plan gives none."""


class FittingStage(NamedTuple):
    """A step: one signal is fitted, and these exits are still barred after it."""

    signal: str
    holds: bool
    """Whether the signal holds trains; False if it only advises."""
    barred: tuple[OpenExit, ...]
    decided: bool
    """False if the plan is too large to judge all exits: any other may be barred too."""
    freed: tuple[OpenExit, ...]
    """The exits that this signal frees."""
    name: str = ""
    """The name of the signal; empty if the plan gives none."""


class WorkOrder(NamedTuple):
    """The order of work of one plan."""

    barred: tuple[OpenExit, ...]
    """The exits that are barred before any signal is fitted."""
    decided: bool
    stages: tuple[FittingStage, ...]


class _OrderState(NamedTuple):
    barred: tuple[OpenExit, ...]
    decided: bool


def order_of_work(
    layout: Layout, settings: Settings, only: Sequence[str] | None = None
) -> WorkOrder:
    """Return the order in which to fit the signals of a plan.

    ``only`` limits it to the signals for which there are parts.
    """
    wanted = (
        list(layout.signals) if only is None else [id_ for id_ in layout.signals if id_ in only]
    )
    holding = [id_ for id_ in wanted if _holds(layout.signals[id_])]
    fitted: list[str] = []
    state = start = _state(layout, settings, fitted)
    stages = []
    looks = MAX_VERDICTS if len(wanted) <= MAX_SIGNALS else 0
    ways = WaysOut(layout, settings, holding) if holding else None
    every = 1 + len(wanted) * len(holding) // MAX_WORK
    while holding:
        best, found = None, None
        if looks >= len(holding):
            looks -= len(holding)
            states = {id_: _state(layout, settings, [*fitted, id_]) for id_ in holding}
            best = min(holding, key=lambda id_: len(states[id_].barred))
            found = states[best]
        elif ways is not None:
            best = ways.next(holding)
        best = best or holding[0]
        holding.remove(best)
        fitted.append(best)
        if ways is not None:
            ways.fit(best)
        if found is None and holding and len(fitted) % every:
            stages.append(_stage(layout.signals[best], True, state, state._replace(decided=False)))
            continue
        found = found or _state(layout, settings, fitted)
        stages.append(_stage(layout.signals[best], True, state, found))
        state = found
    stages += [
        _stage(layout.signals[id_], False, state, state) for id_ in wanted if id_ not in fitted
    ]
    return WorkOrder(start.barred, start.decided, tuple(stages))


def _holds(signal: Signal) -> bool:
    return any(head.holds for head in signal.heads)


def _stage(signal: Signal, holds: bool, before: _OrderState, after: _OrderState) -> FittingStage:
    freed = tuple(exit_ for exit_ in before.barred if exit_ not in after.barred)
    return FittingStage(signal.id, holds, after.barred, after.decided, freed, signal.name)


def _state(layout: Layout, settings: Settings, fitted: Sequence[str]) -> _OrderState:
    """Return the barred exits of the plan with only the fitted signals."""
    signals = {id_: signal for id_, signal in layout.signals.items() if id_ in fitted}
    facts = Facts(layout._replace(signals=signals), settings)
    verdict, network = facts.verdict, facts.network
    barred: dict[OpenExit, None] = {}
    steps = 0
    for failure in verdict.failures:
        steps += len(failure.movement.steps) if failure.movement is not None else 0
        if failure.movement is not None or not failure.decided:
            place = network.place(failure.run.start)
            running = network.way[failure.run.start] or None
            name = facts.names.name("tracks" if running else "yards", place.id)
            barred[OpenExit(place.id, running, name)] = None
    cut = len(verdict.failures) > MAX_FAILURES or steps > MAX_STEPS or verdict.unfinished
    return _OrderState(tuple(barred), verdict.holds is not None and not cut)
