"""The signals that can be fitted before anything is bought, at no extra cost.

The scheme fixes which part serves for which need, and what is made and bought. This module takes
the signals in the order of work. A signal is ready if the club owns its parts and no earlier signal
takes them, or if steps of the scheme make them from owned parts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.parts.demand import SignalKey
    from trappoint.parts.planning import Scheme
    from trappoint.parts.store import Bill, Recipe, Store


class Ready(NamedTuple):
    """A signal that can be fitted, with the steps that make its parts."""

    key: SignalKey
    steps: tuple[Recipe, ...]
    """In order; a recipe that is done twice is listed twice."""


class Readiness(NamedTuple):
    """The signals that can be fitted today, and those that wait for parts."""

    ready: tuple[Ready, ...]
    waiting: tuple[tuple[SignalKey, Bill], ...]
    """Each with the parts that it lacks until the orders arrive."""


class _Bench:
    """The parts at hand, and how often each recipe of the scheme remains to be done."""

    def __init__(self, stock: Bill, runs: dict[str, int]) -> None:
        self.stock, self.runs = dict(stock), dict(runs)
        self.done: list[Recipe] = []

    def take(self, part: str, recipes: Sequence[Recipe], above: frozenset[str]) -> bool:
        """Take one of a part and make it if necessary; on failure, parts may be used up."""
        while self.stock.get(part, 0) < 1:
            if not self._make(part, recipes, above):
                return False
        self.stock[part] -= 1
        return True

    def _make(self, part: str, recipes: Sequence[Recipe], above: frozenset[str]) -> bool:
        for recipe in recipes:
            if recipe.net(part) < 1 or not self.runs[recipe.id] or recipe.id in above:
                continue
            trial = _Bench(self.stock, self.runs)
            trial.runs[recipe.id] -= 1
            inner = above | {recipe.id}
            if all(
                trial.take(used, recipes, inner)
                for used, count in recipe.uses.items()
                for _ in range(count)
            ):
                for gained, count in recipe.yields.items():
                    trial.stock[gained] = trial.stock.get(gained, 0) + count
                self.stock, self.runs = trial.stock, trial.runs
                self.done += [*trial.done, recipe]
                return True
        return False


def ready_now(scheme: Scheme, store: Store, order: Sequence[SignalKey]) -> Readiness:
    """Return the signals that can be fitted before anything is bought, in the order of work."""
    served = scheme.pieces()
    recipes = [step.recipe for step in scheme.steps]
    bench = _Bench(
        {part.id: part.owned for part in store.parts.values()},
        {step.recipe.id: step.times for step in scheme.steps},
    )
    ready, waiting = [], []
    for key in order:
        if key not in served:
            continue
        trial = _Bench(bench.stock, bench.runs)
        missing: Bill = {}
        for part in served[key]:
            if not trial.take(part, recipes, frozenset()):
                missing[part] = missing.get(part, 0) + 1
        if missing:
            waiting.append((key, missing))
        else:
            ready.append(Ready(key, tuple(trial.done)))
            bench = trial
    return Readiness(tuple(ready), tuple(waiting))
