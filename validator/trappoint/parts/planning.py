"""The parts plan: the cheapest way to meet the needs of plans, or the reason why there is none.

The planner minimises, in this order: money without a rate (in the order of the store), other money,
minutes of work, and the handling: the number of steps, packs, and parts to put together. So a
ready-made signal is taken as it is, unless it saves money or work as something else.
"""

from __future__ import annotations

from dataclasses import dataclass
from time import monotonic
from typing import TYPE_CHECKING, NamedTuple

from trappoint.parts.demand import (
    PartNeed,
    SignalKey,
    Want,
    whole_signals,
    without,
)
from trappoint.parts.integer_programme import TooLateError
from trappoint.parts.money import RATE_UNIT, rounded, rounded_up
from trappoint.parts.parts_model import Outcome, PartsCase
from trappoint.parts.step_order import Settled, UndecidedError, settle

if TYPE_CHECKING:
    from trappoint.parts.ordering import RecipeStep
    from trappoint.parts.parts_model import Gap
    from trappoint.parts.reasons import Reason
    from trappoint.parts.store import Bill, Offer, Shop, Store


class ShopOrder(NamedTuple):
    """The order to one shop, with amounts in hundredths of its currency."""

    shop: Shop
    packs: tuple[tuple[Offer, int], ...]
    goods: int
    postage: int

    @property
    def total(self) -> int:
        """Goods and postage, in hundredths."""
        return self.goods + self.postage


@dataclass(frozen=True, slots=True)
class Scheme:
    """A way to meet all needs."""

    served: tuple[tuple[PartNeed, str], ...]
    """Each need, with the part that serves; a ready-made signal serves all needs of its signal."""
    ready: dict[SignalKey, str]
    """The signals for which a ready-made one is taken as it is, with the part."""
    as_it_is: Bill
    """Owned parts that go on to the layouts unchanged."""
    steps: tuple[RecipeStep, ...]
    """The recipes to do, in an order that works once all orders have arrived."""
    orders: tuple[ShopOrder, ...]
    left_over: Bill
    minutes: int
    totals: dict[str, int]
    """The cost in each currency, in hundredths."""
    counted: int
    """The cost in all money that has a rate, in hundredths times ``RATE_UNIT``."""
    proven: bool
    """Whether it is proven best; False if recipes form a circle or the time limit was reached."""
    gap: Gap | None = None
    """The quantity that was not proven least at the time limit; None if there is none."""

    def pieces(self) -> dict[SignalKey, list[str]]:
        """Return the pieces that each signal takes, by the part of each; a ready-made one once."""
        taken: dict[SignalKey, list[str]] = {}
        for need, part in self.served:
            key = SignalKey(need.plan, need.signal)
            own = taken.setdefault(key, [])
            if key not in self.ready or not own:
                own.append(part)
        return taken


@dataclass(frozen=True, slots=True)
class PartsPlan:
    """A scheme, or the reason why there is none and the ways out."""

    needs: tuple[PartNeed, ...]
    left_out: tuple[SignalKey, ...]
    """Signals that the user leaves out."""
    scheme: Scheme | None
    """None if not all needs can be met."""
    short: tuple[tuple[Want, int], ...] = ()
    """The fewest missing parts at any cost, each with its number."""
    least_money: int | None = None
    """If only money is short: the sum that suffices, in hundredths of the store's currency."""
    drop: tuple[SignalKey, ...] = ()
    """The fewest signals to leave out; of such choices, the one with the cheapest rest."""
    rest: Scheme | None = None
    """The scheme for the other signals."""
    undecided: bool = False
    """True if recipes form a circle, and neither a way nor a proof of none was found."""
    too_late: bool = False
    """True if the time limit ended the search without an answer."""
    reasons: tuple[Reason, ...] = ()
    """Why the scheme is as it is, where that is surprising."""


def plan_parts(
    store: Store,
    needs: tuple[PartNeed, ...],
    *,
    left_out: tuple[SignalKey, ...] = (),
    at_most: int | None = None,
    seconds: float | None = None,
) -> PartsPlan:
    """Return the cheapest way to meet these needs, without the signals ``left_out``.

    ``at_most`` limits the cost in money that has a rate, in hundredths of the store's currency.
    After ``seconds`` the answer is the best way found, with the ``gap`` to the lower bound. Raises
    NotInstalled if the solver is missing.
    """
    needs = without(needs, left_out)
    until = None if seconds is None else monotonic() + seconds
    limit = None if at_most is None else at_most * RATE_UNIT
    try:
        found = settle(PartsCase(store, needs, "all", limit, until))
        if found is not None:
            return PartsPlan(needs, left_out, scheme_of(store, needs, found))
        short: tuple[tuple[Want, int], ...] = ()
        least_money = None
        rich = settle(PartsCase(store, needs, until=until)) if limit is not None else None
        if rich is not None:
            least_money = rounded_up(scheme_of(store, needs, rich).counted)
        else:
            lacking = settle(PartsCase(store, needs, "least-short", until=until))
            short = tuple(lacking.outcome.short.items()) if lacking is not None else ()
        rest = settle(PartsCase(store, needs, "fewest-left-out", limit, until))
    except UndecidedError:
        return PartsPlan(needs, left_out, None, undecided=True)
    except TooLateError:
        return PartsPlan(needs, left_out, None, too_late=True)
    if rest is None:
        return PartsPlan(needs, left_out, None, short, least_money)
    drop = tuple(rest.outcome.left_out)
    scheme = scheme_of(store, without(needs, drop), rest)
    return PartsPlan(needs, left_out, None, short, least_money, drop, scheme)


def scheme_of(store: Store, needs: tuple[PartNeed, ...], found: Settled) -> Scheme:
    """Return the scheme of an answer of the programme."""
    outcome = found.outcome
    used: Bill = {}
    for (_, part), count in (*outcome.served.items(), *outcome.ready.items()):
        used[part] = used.get(part, 0) + count
    left = outcome.stock(store)
    for step in found.steps:
        for part in {**step.recipe.uses, **step.recipe.yields}:
            left[part] += step.times * step.recipe.net(part)
    for part, count in used.items():
        left[part] -= count
    orders = _orders(store, outcome)
    totals: dict[str, int] = {}
    for order in orders:
        totals[order.shop.currency] = totals.get(order.shop.currency, 0) + order.total
    ready = _ready(needs, outcome)
    return Scheme(
        _served(needs, outcome, ready),
        ready,
        _as_it_is(store, used),
        found.steps,
        orders,
        {part: count for part, count in left.items() if count},
        sum(step.times * step.recipe.minutes for step in found.steps),
        totals,
        sum(total * (store.rate(currency) or 0) for currency, total in totals.items()),
        found.proven,
        outcome.gap,
    )


def _ready(needs: tuple[PartNeed, ...], outcome: Outcome) -> dict[SignalKey, str]:
    """Assign ready-made signals to signals, in the order of the plans."""
    left = dict(outcome.ready)
    dealt = {}
    for key, whole in whole_signals(needs).items():
        fitting = next((one for one in left if one[0] == whole and left[one]), None)
        if fitting is not None:
            left[fitting] -= 1
            dealt[key] = fitting[1]
    return dealt


def _served(
    needs: tuple[PartNeed, ...], outcome: Outcome, ready: dict[SignalKey, str]
) -> tuple[tuple[PartNeed, str], ...]:
    """Assign parts to needs, in the order of the plans."""
    left = dict(outcome.served)
    dealt = []
    for need in needs:
        part = ready.get(SignalKey(need.plan, need.signal))
        if part is None:
            key = next(key for key, count in left.items() if key[0] == need.want and count)
            left[key] -= 1
            part = key[1]
        dealt.append((need, part))
    return tuple(dealt)


def _as_it_is(store: Store, used: Bill) -> Bill:
    owned = {part: min(count, store.parts[part].owned) for part, count in used.items()}
    return {part: owned[part] for part in store.parts if owned.get(part)}


def _orders(store: Store, outcome: Outcome) -> tuple[ShopOrder, ...]:
    orders = []
    for shop in store.shops.values():
        packs = tuple((offer, count) for offer, count in outcome.packs if offer.shop == shop.id)
        if packs:
            goods = sum(offer.price * count for offer, count in packs)
            free = shop.free_from is not None and goods >= shop.free_from
            orders.append(ShopOrder(shop, packs, goods, 0 if free else shop.postage))
    return tuple(orders)


def counted_total(scheme: Scheme) -> int:
    """Return the cost in all money that has a rate, in hundredths, rounded."""
    return rounded(scheme.counted)
