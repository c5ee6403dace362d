"""What can be fitted before anything is bought, without making the cheapest way any dearer.

The scheme says which part serves for what, what is made out of what, and what is bought. Signals
are gone through in the order of work: one is ready where its parts are owned and not promised to
a signal before it, or come out of steps of the scheme for which all is owned.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.parts.demand import SignalKey

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.parts.planning import Scheme
    from trappoint.parts.store import Bill, Recipe, Store


class Ready(NamedTuple):
    """A signal that can be fitted, and what is to be made for it first."""

    key: SignalKey
    steps: tuple[Recipe, ...]
    """One after another; what is to be done twice stands twice."""


class Readiness(NamedTuple):
    """Which signals can be fitted today, and which wait for parts."""

    ready: tuple[Ready, ...]
    waiting: tuple[tuple[SignalKey, Bill], ...]
    """With the parts that are not to be had until what is bought has come."""


class _Bench:
    """What is there, and how often each step of the scheme is still to be done."""

    def __init__(self, stock: Bill, runs: dict[str, int]) -> None:
        self.stock, self.runs = dict(stock), dict(runs)
        self.done: list[Recipe] = []

    def take(self, part: str, recipes: Sequence[Recipe], above: frozenset[str]) -> bool:
        """Take one of a part, making it where need be; some may be used up where this fails."""
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
    """Return which signals can be fitted before anything is bought, in the order of work."""
    served: dict[SignalKey, list[str]] = {}
    for need, part in scheme.served:
        served.setdefault(SignalKey(need.plan, need.signal), []).append(part)
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
