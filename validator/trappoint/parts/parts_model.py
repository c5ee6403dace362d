"""The integer programme of a case: the parts to use, make and buy.

Unknowns: the number of each want that each part serves; the number of signals of each kind that
each ready-made signal serves as a whole; the runs of each recipe; the packs bought of each offer;
whether each shop gets an order, and whether that order is free of postage; and, if the parts do not
suffice, the missing parts or the signals to leave out.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.parts.bounds import most_packs, most_useful
from trappoint.parts.demand import PartNeed, SignalKey, Want, signals_of, whole_signals
from trappoint.parts.integer_programme import Programme, Terms
from trappoint.parts.ordering import RecipeStep, blocks_of, goes_round

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.parts.demand import WholeSignal
    from trappoint.parts.store import Offer, Recipe, Shop, Store

Aim = Literal["all", "least-short", "fewest-left-out"]
"""Meet all needs; have the fewest missing parts; or leave out the fewest signals."""


class Cut(NamedTuple):
    """Recipes that cannot start until other recipes or a shop supply one of these parts."""

    parts: frozenset[str]
    waiting: frozenset[str]


class Proviso(NamedTuple):
    """A further limit, to see what another way would cost."""

    what: Literal["fitted", "packs", "runs"]
    """The pieces of a part fitted, the packs bought that contain it, or the runs of a recipe."""
    id: str
    least: int | None = None
    most: int | None = None


@dataclass(frozen=True, slots=True)
class PartsCase:
    """The question: the store, the needs and the limits."""

    store: Store
    needs: tuple[PartNeed, ...]
    aim: Aim = "all"
    most_money: int | None = None
    """In hundredths of the store's currency times ``RATE_UNIT``."""
    until: float | None = None
    """The end of the search, as a time of ``time.monotonic``."""
    proviso: Proviso | None = None


class Gap(NamedTuple):
    """The quantity that was not proven least at the time limit, with its lower bound."""

    what: str
    """``short``, ``left-out``, ``money``, ``work``, ``steps``, or a currency kept apart."""
    at_best: int | None
    """Parts, signals, hundredths (``money``: times ``RATE_UNIT``) or minutes; None if unknown."""


class Outcome(NamedTuple):
    """The answer of the programme, without counts of 0."""

    served: dict[tuple[Want, str], int]
    """The pieces of each part that serve each want."""
    ready: dict[tuple[WholeSignal, str], int]
    """The ready-made signals that serve as whole signals of each kind."""
    runs: list[RecipeStep]
    packs: list[tuple[Offer, int]]
    short: dict[Want, int]
    left_out: list[SignalKey]
    least: tuple[int, ...]
    """The minimised quantities, without the last one (the handling)."""
    gap: Gap | None = None

    def stock(self, store: Store) -> dict[str, int]:
        """Return the stock once all orders have arrived."""
        have = {id_: part.owned for id_, part in store.parts.items()}
        for offer, count in self.packs:
            for part, each in offer.contains.items():
                have[part] += count * each
        return have


class BenchModel:
    """The programme of a case, and the reader of its answer."""

    def __init__(
        self, case: PartsCase, cuts: Sequence[Cut] = (), *, rounds: int = 0, least_round: int = 0
    ) -> None:
        """Build the programme.

        ``rounds``: the number of stages for circles; each stage uses the stock after the one
        before. ``least_round``: the least number of runs of recipes in circles.
        """
        self._case, self._store = case, case.store
        self._staged = rounds > 0
        self._programme = Programme()
        self._wants: dict[Want, int] = {}
        for need in case.needs:
            self._wants[need.want] = self._wants.get(need.want, 0) + 1
        self._serve = {
            (want, part.id): self._programme.unknown(count)
            for want, count in self._wants.items()
            for part in self._store.parts.values()
            if part.serves(want)
        }
        self._wholes = whole_signals(case.needs)
        alike = Counter(self._wholes.values())
        self._ready = {
            (whole, part.id): self._programme.unknown(count)
            for whole, count in alike.items()
            for part in self._store.parts.values()
            if part.as_signal is not None and part.as_signal.fits(whole)
        }
        wanted: dict[str, int] = {}
        for want, part in self._serve:
            wanted[part] = wanted.get(part, 0) + self._wants[want]
        for whole, part in self._ready:
            wanted[part] = wanted.get(part, 0) + alike[whole]
        self._needed, self._most = most_useful(self._store, wanted)
        self._blocks = blocks_of(self._store.recipes.values())
        self._runs: dict[str, list[int]] = {}
        self._slots: list[list[tuple[Recipe, int]]] = []
        self._add_recipes(rounds)
        self._money: dict[str, Terms] = {}
        self._packs: list[tuple[Offer, int]] = []
        for shop in self._store.shops.values():
            self._add_shop(shop)
        self._short: dict[Want, int] = {}
        self._left_out: dict[SignalKey, int] = {}
        self._ask_for_wants()
        self._ask_for_wholes(alike)
        self._ask_for_stock()
        self._ask_for_limits(cuts, least_round)

    def solve(self) -> Outcome | None:
        """Return the best outcome: by the aim, then by money, work and handling.

        None if there is none. Raises NotInstalled, TooLateError.
        """
        wishes = self._wishes()
        found = self._programme.solve(list(wishes.values()), self._case.until)
        if found is None:
            return None
        values = found.values
        runs = [
            RecipeStep(recipe, sum(values[index] for index in self._runs[id_]))
            for id_, recipe in self._store.recipes.items()
        ]
        return Outcome(
            {key: values[index] for key, index in self._serve.items() if values[index]},
            {key: values[index] for key, index in self._ready.items() if values[index]},
            [step for step in runs if step.times],
            [(offer, values[index]) for offer, index in self._packs if values[index]],
            {want: values[index] for want, index in self._short.items() if values[index]},
            [key for key, index in self._left_out.items() if values[index]],
            found.least[:-1],
            found.stopped and Gap(list(wishes)[found.stopped.wish], found.stopped.at_best),
        )

    def _add_recipes(self, rounds: int) -> None:
        for block in self._blocks:
            stages = rounds if rounds and goes_round(block) else 1
            for recipe in block:
                self._runs[recipe.id] = []
            for _ in range(stages):
                slot = []
                for recipe in block:
                    index = self._programme.unknown(self._most[recipe.id])
                    self._runs[recipe.id].append(index)
                    slot.append((recipe, index))
                self._slots.append(slot)
            if stages > 1:
                for recipe in block:
                    runs = dict.fromkeys(self._runs[recipe.id], 1)
                    self._programme.ask(runs, most=self._most[recipe.id])

    def _add_shop(self, shop: Shop) -> None:
        programme = self._programme
        money = self._money.setdefault(shop.currency, {})
        spent: Terms = {}
        packs: list[tuple[int, int]] = []
        for offer in shop.offers:
            most = most_packs(self._store, shop, offer, self._needed)
            if most:
                index = programme.unknown(most)
                packs.append((index, most))
                spent[index] = offer.price
                self._packs.append((offer, index))
        rate = self._store.rate(shop.currency) or 1
        money.update({index: price * rate for index, price in spent.items()})
        if not shop.postage or not packs:
            return
        order = programme.unknown(1)
        money[order] = shop.postage * rate
        for index, most in packs:
            programme.ask({index: 1, order: -most}, most=0)
        if shop.free_from is not None:
            free = programme.unknown(1)
            money[free] = -shop.postage * rate
            programme.ask({free: 1, order: -1}, most=0)
            programme.ask({**spent, free: -shop.free_from}, least=0)

    def _ask_for_wants(self) -> None:
        programme, aim = self._programme, self._case.aim
        rows: dict[Want, Terms] = {want: {} for want in self._wants}
        for (want, _), index in self._serve.items():
            rows[want][index] = 1
        for (whole, _), index in self._ready.items():
            for want, count in whole.wants().items():
                rows[want][index] = count
        if aim == "least-short":
            for want, count in self._wants.items():
                self._short[want] = programme.unknown(count)
                rows[want][self._short[want]] = 1
        if aim == "fewest-left-out":
            self._left_out = {key: programme.unknown(1) for key in signals_of(self._case.needs)}
            for need in self._case.needs:
                index = self._left_out[SignalKey(need.plan, need.signal)]
                rows[need.want][index] = rows[need.want].get(index, 0) + 1
        for want, count in self._wants.items():
            programme.ask(rows[want], least=count, most=count)

    def _ask_for_wholes(self, alike: Counter[WholeSignal]) -> None:
        """Limit the ready-made signals that serve to the signals of their kind to fit."""
        rows: dict[WholeSignal, Terms] = {}
        for (whole, _), index in self._ready.items():
            rows.setdefault(whole, {})[index] = 1
        for key, index in self._left_out.items():
            row = rows.get(self._wholes[key]) if key in self._wholes else None
            if row is not None:
                row[index] = 1
        for whole, terms in rows.items():
            self._programme.ask(terms, most=alike[whole])

    def _ask_for_stock(self) -> None:
        """Limit the use of parts to the stock: at the end, and before each stage."""
        now: dict[str, Terms] = {part: {} for part in self._store.parts}
        for offer, index in self._packs:
            for part, each in offer.contains.items():
                now[part][index] = now[part].get(index, 0) + each
        for slot in self._slots:
            if self._staged and goes_round([recipe for recipe, _ in slot]):
                for part in dict.fromkeys(p for recipe, _ in slot for p in recipe.uses):
                    uses = {i: -recipe.uses.get(part, 0) for recipe, i in slot}
                    owned = self._store.parts[part].owned
                    self._programme.ask({**now[part], **uses}, least=-owned)
            for recipe, index in slot:
                for part in {**recipe.uses, **recipe.yields}:
                    now[part][index] = recipe.net(part)
        for (_, part), index in (*self._serve.items(), *self._ready.items()):
            now[part][index] = -1
        for part, terms in now.items():
            if terms:
                self._programme.ask(terms, least=-self._store.parts[part].owned)

    def _ask_for_limits(self, cuts: Sequence[Cut], least_round: int) -> None:
        if self._case.most_money is not None:
            self._programme.ask(self._counted(), most=self._case.most_money)
        proviso = self._case.proviso
        if proviso is not None:
            terms = self._terms_of(proviso)
            self._programme.ask(terms, least=proviso.least, most=proviso.most)
        for cut in cuts:
            self._ask_for_start(cut)
        if least_round:
            round_ = {
                index: 1
                for block in self._blocks
                if goes_round(block)
                for recipe in block
                for index in self._runs[recipe.id]
            }
            self._programme.ask(round_, least=least_round)

    def _terms_of(self, proviso: Proviso) -> Terms:
        if proviso.what == "runs":
            return dict.fromkeys(self._runs[proviso.id], 1)
        if proviso.what == "packs":
            return {index: 1 for offer, index in self._packs if proviso.id in offer.contains}
        fitted = (*self._serve.items(), *self._ready.items())
        return {index: 1 for (_, part), index in fitted if part == proviso.id}

    def _ask_for_start(self, cut: Cut) -> None:
        sources = [i for offer, i in self._packs if not cut.parts.isdisjoint(offer.contains)]
        for recipe in self._store.recipes.values():
            if cut.parts.isdisjoint(recipe.uses) and not cut.parts.isdisjoint(recipe.yields):
                sources += self._runs[recipe.id]
        for id_ in sorted(cut.waiting):
            most = self._most[id_]
            terms = dict.fromkeys(self._runs[id_], 1)
            terms.update(dict.fromkeys(sources, -most))
            self._programme.ask(terms, most=0)

    def _counted(self) -> Terms:
        """Return the cost in all money that has a rate."""
        apart = self._store.kept_apart()
        return {
            index: factor
            for currency, terms in self._money.items()
            if currency not in apart
            for index, factor in terms.items()
        }

    def _wishes(self) -> dict[str, Terms]:
        """Return the quantities to minimise, in order, by the names of ``Gap.what``."""
        runs = {index: 1 for indexes in self._runs.values() for index in indexes}
        # A ready-made signal is one piece to handle, in place of a mount and its arms.
        spared = {index: -len(whole.arms) for (whole, _), index in self._ready.items()}
        work = {
            index: recipe.minutes
            for id_, recipe in self._store.recipes.items()
            for index in self._runs[id_]
        }
        aims = {
            "all": {},
            "least-short": {"short": dict.fromkeys(self._short.values(), 1)},
            "fewest-left-out": {"left-out": dict.fromkeys(self._left_out.values(), 1)},
        }
        return {
            **aims[self._case.aim],
            **{currency: self._money[currency] for currency in self._store.kept_apart()},
            "money": self._counted(),
            "work": work,
            "steps": {**runs, **{index: 1 for _, index in self._packs}, **spared},
        }
