"""The signals that can be fitted today with the parts at hand, in a safe order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.fitting.order import order_of_work
from trappoint.fitting.sheet import Today
from trappoint.parts.at_hand import ready_now
from trappoint.parts.demand import SignalKey, demand_of
from trappoint.parts.planning import plan_parts

if TYPE_CHECKING:
    from trappoint.facts.facts import Facts
    from trappoint.fitting.sheet import FittingSheet
    from trappoint.parts.planning import PartsPlan
    from trappoint.parts.store import Store


def fitted_today(facts: Facts, sheet: FittingSheet, store: Store, seconds: float) -> Today | None:
    """Return the signals that can be fitted before anything is bought; None if no way is found.

    ``seconds`` limits the search for the least cost. Raises NotInstalled.
    """
    answer = plan_parts(store, demand_of([("", facts.layout)]), seconds=seconds)
    return today_of(answer, store, facts, sheet)


def today_of(answer: PartsPlan, store: Store, facts: Facts, sheet: FittingSheet) -> Today | None:
    """Return the signals that can be fitted today, from a parts plan of this plan alone."""
    scheme = answer.scheme or answer.rest
    if scheme is None:
        return None
    plan = answer.needs[0].plan if answer.needs else ""
    order = [SignalKey(plan, stage.signal) for stage in sheet.work.stages]
    found = ready_now(scheme, store, order)
    made = {
        ready.key.signal: tuple(recipe.name or recipe.id for recipe in ready.steps)
        for ready in found.ready
    }
    waiting = {key.signal: bill for key, bill in found.waiting}
    waiting.update((key.signal, {}) for key in answer.drop)
    return Today(order_of_work(facts.layout, facts.settings, list(made)), made, waiting)
