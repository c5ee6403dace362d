"""The bench list: for each signal, what to take from where, what to make, and what to fit.

The scheme fixes the steps as a whole. This module deals them out to the signals, in the order of
the plans: each signal gets the steps that make its parts. Owned parts go before bought ones, so
that the first signals need not wait for the orders.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.parts.demand import SignalKey
from trappoint.parts.ordering import RecipeStep

if TYPE_CHECKING:
    from trappoint.parts.planning import Scheme
    from trappoint.parts.store import Recipe, Store

DRAWER, SPARE, JUST_MADE = "drawer", "spare", "just made"
"""Where a piece comes from: the club's own, left over from an earlier signal, or made for this one.
Any other source is the id of a shop, after ``SHOP``."""

SHOP = "shop:"


class Taken(NamedTuple):
    """Pieces of one part from one source."""

    part: str
    number: int
    source: str


class BenchJob(NamedTuple):
    """The work for one signal."""

    key: SignalKey | None
    """None for work that comes before all signals."""
    take: tuple[Taken, ...]
    steps: tuple[RecipeStep, ...]
    fit: tuple[tuple[str, tuple[str | None, ...]], ...]
    """Each part with the ids of its arms; None stands for the mount."""
    ready: bool
    """Whether a ready-made signal is taken as it is."""

    @property
    def minutes(self) -> int:
        """The work in minutes."""
        return sum(step.recipe.minutes * step.times for step in self.steps)


def bench_list(scheme: Scheme, store: Store) -> tuple[BenchJob, ...]:
    """Return the work for each signal, in the order of the plans."""
    return _signal_by_signal(scheme, store) or _steps_first(scheme, store)


class _Pieces:
    """The pieces on the bench, by part and source, and the runs of each recipe still to be done."""

    def __init__(self, scheme: Scheme, store: Store) -> None:
        self._have: dict[str, dict[str, int]] = {
            id_: {JUST_MADE: 0, DRAWER: part.owned, SPARE: 0} for id_, part in store.parts.items()
        }
        for order in scheme.orders:
            source = SHOP + order.shop.id
            for offer, packs in order.packs:
                for part, each in offer.contains.items():
                    own = self._have[part]
                    own[source] = own.get(source, 0) + each * packs
        self.runs: dict[str, int] = {}
        for step in scheme.steps:
            self.runs[step.recipe.id] = self.runs.get(step.recipe.id, 0) + step.times
        self._recipes = list(dict.fromkeys(step.recipe.id for step in scheme.steps))
        self._store = store
        self._orders_here = True
        self.sources: dict[tuple[str, str], int] = {}
        self.done: list[RecipeStep] = []

    def begin(self) -> None:
        """Begin the work for a signal."""
        self.sources, self.done = {}, []
        for own in self._have.values():
            own[SPARE] += own[JUST_MADE]
            own[JUST_MADE] = 0

    def take_all(self, parts: list[str]) -> bool:
        """Take pieces of these parts, without the orders if possible; False if that fails."""
        have = {part: dict(own) for part, own in self._have.items()}
        runs = dict(self.runs)
        self._orders_here = False
        found = all(self.take(part) for part in parts)
        self._orders_here = True
        if found:
            return True
        self._have, self.runs = have, runs
        self.sources, self.done = {}, []
        return all(self.take(part) for part in parts)

    def take(self, part: str) -> bool:
        """Take one piece of a part, made if necessary; False if that fails."""
        if not self._have_ready(part, 1, frozenset()):
            return False
        self._use(part, 1)
        return True

    def carry_out(self, recipe: Recipe) -> None:
        """Do a recipe once; its parts are at hand."""
        _, used_up, gained = recipe.parts_touched()
        for part, count in used_up.items():
            self._use(part, count)
        for part, count in gained.items():
            self._have[part][JUST_MADE] += count
        self.runs[recipe.id] -= 1
        last = self.done[-1] if self.done else None
        if last is not None and last.recipe is recipe:
            self.done[-1] = RecipeStep(recipe, last.times + 1)
        else:
            self.done.append(RecipeStep(recipe, 1))

    def _use(self, part: str, count: int) -> None:
        own = self._have[part]
        for source in own:
            piece = min(count, own[source])
            if not piece or (source.startswith(SHOP) and not self._orders_here):
                continue
            own[source] -= piece
            count -= piece
            if source != JUST_MADE:
                self.sources[part, source] = self.sources.get((part, source), 0) + piece

    def _count(self, part: str) -> int:
        own = self._have[part].items()
        return sum(n for source, n in own if self._orders_here or not source.startswith(SHOP))

    def _have_ready(self, part: str, count: int, above: frozenset[str]) -> bool:
        while self._count(part) < count:
            if not any(self._make(id_, part, above) for id_ in self._recipes):
                return False
        return True

    def _make(self, id_: str, part: str, above: frozenset[str]) -> bool:
        recipe = self._store.recipes[id_]
        if recipe.net(part) < 1 or not self.runs[id_] or id_ in above:
            return False
        while lacking := [used for used, count in recipe.uses.items() if self._count(used) < count]:
            if not self._have_ready(lacking[0], recipe.uses[lacking[0]], above | {id_}):
                return False
        if not self.runs[id_]:  # making its parts has used it up
            return False
        self.carry_out(recipe)
        return True


def _signal_by_signal(scheme: Scheme, store: Store) -> tuple[BenchJob, ...] | None:
    """Return the jobs; None if the steps cannot be dealt out one by one, as in some circles."""
    bench = _Pieces(scheme, store)
    jobs = []
    for key, pieces in scheme.pieces().items():
        bench.begin()
        if not bench.take_all(pieces):
            return None
        jobs.append(_job(key, bench, scheme))
    return None if any(bench.runs.values()) else tuple(jobs)


def _steps_first(scheme: Scheme, store: Store) -> tuple[BenchJob, ...]:
    """Return the jobs with all steps before the first signal."""
    bench = _Pieces(scheme, store)
    for step in scheme.steps:
        for _ in range(step.times):
            bench.carry_out(step.recipe)
    jobs = [_job(None, bench, scheme)]
    for key, pieces in scheme.pieces().items():
        bench.begin()
        for part in pieces:
            bench.take(part)
        jobs.append(_job(key, bench, scheme))
    return tuple(jobs)


def _job(key: SignalKey | None, bench: _Pieces, scheme: Scheme) -> BenchJob:
    taken = tuple(Taken(part, count, source) for (part, source), count in bench.sources.items())
    fit: dict[str, list[str | None]] = {}
    for need, part in scheme.served:
        if SignalKey(need.plan, need.signal) == key:
            fit.setdefault(part, []).append(need.arm)
    return BenchJob(
        key,
        taken,
        tuple(bench.done),
        tuple((part, tuple(arms)) for part, arms in fit.items()),
        key in scheme.ready,
    )
