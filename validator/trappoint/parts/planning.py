"""What to use, to make and to buy for plans: the cheapest way, and what to do where there is none.

Least is: first money that has no rate (in the order of the store), then money, then minutes of
work, then the number of steps and packs.
"""

from __future__ import annotations

from dataclasses import dataclass
from time import monotonic
from typing import TYPE_CHECKING, NamedTuple

from trappoint.parts.demand import PartNeed, SignalKey, Want, without
from trappoint.parts.integer_programme import TooLateError
from trappoint.parts.money import RATE_UNIT, rounded, rounded_up
from trappoint.parts.parts_model import Outcome, PartsCase
from trappoint.parts.step_order import Settled, UndecidedError, settle

if TYPE_CHECKING:
    from trappoint.parts.ordering import RecipeStep
    from trappoint.parts.parts_model import Gap
    from trappoint.parts.store import Bill, Offer, Shop, Store


class ShopOrder(NamedTuple):
    """What to buy in one shop. Amounts in hundredths of its currency."""

    shop: Shop
    packs: tuple[tuple[Offer, int], ...]
    goods: int
    postage: int

    @property
    def total(self) -> int:
        """Goods and postage."""
        return self.goods + self.postage


@dataclass(frozen=True, slots=True)
class Scheme:
    """A way to meet what is needed."""

    served: tuple[tuple[PartNeed, str], ...]
    """Each thing that is needed, and the part that serves as it."""
    as_it_is: Bill
    """Parts that are owned and go on to the layout as they are."""
    steps: tuple[RecipeStep, ...]
    """What to make, in an order in which all is there when it is used, after all was bought."""
    orders: tuple[ShopOrder, ...]
    left_over: Bill
    minutes: int
    totals: dict[str, int]
    """For each currency, what is spent in it, in hundredths."""
    counted: int
    """What is spent in all money that can be counted together: hundredths times ``RATE_UNIT``."""
    proven: bool
    """Whether nothing can be better. False: recipes go round in circles, or the time was up."""
    gap: Gap | None = None
    """What was not proven to be least when the time was up."""


@dataclass(frozen=True, slots=True)
class PartsPlan:
    """The answer: a scheme, or why there is none and what would help."""

    needs: tuple[PartNeed, ...]
    left_out: tuple[SignalKey, ...]
    """Signals left out because this was asked for."""
    scheme: Scheme | None
    """None if not all can be met."""
    short: tuple[tuple[Want, int], ...] = ()
    """What stays short, whatever is spent, and by how much: the fewest things."""
    least_money: int | None = None
    """Where only the money does not reach: what would, in hundredths of the store's currency."""
    drop: tuple[SignalKey, ...] = ()
    """The fewest signals without which the rest can be met; of such, those that leave the rest
    cheapest."""
    rest: Scheme | None = None
    """How the rest is met then."""
    undecided: bool = False
    """True if recipes go round in circles so that no way was found, nor that there is none."""
    too_late: bool = False
    """True if the time was up before anything was found."""


def plan_parts(
    store: Store,
    needs: tuple[PartNeed, ...],
    *,
    left_out: tuple[SignalKey, ...] = (),
    at_most: int | None = None,
    seconds: float | None = None,
) -> PartsPlan:
    """Find the cheapest way to meet what is needed, without some signals and for so much money.

    ``at_most`` is in hundredths of the store's currency, in which all that has a rate is counted.
    After ``seconds`` the best that was found by then is returned, with how much better it could
    be at most. Raises NotInstalled where the solver is not there.
    """
    needs = without(needs, left_out)
    until = None if seconds is None else monotonic() + seconds
    limit = None if at_most is None else at_most * RATE_UNIT
    try:
        found = settle(PartsCase(store, needs, "all", limit, until))
        if found is not None:
            return PartsPlan(needs, left_out, _scheme(store, needs, found))
        short: tuple[tuple[Want, int], ...] = ()
        least_money = None
        rich = settle(PartsCase(store, needs, until=until)) if limit is not None else None
        if rich is not None:
            least_money = rounded_up(_scheme(store, needs, rich).counted)
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
    scheme = _scheme(store, without(needs, drop), rest)
    return PartsPlan(needs, left_out, None, short, least_money, drop, scheme)


def _scheme(store: Store, needs: tuple[PartNeed, ...], found: Settled) -> Scheme:
    outcome = found.outcome
    used: Bill = {}
    for (_, part), count in outcome.served.items():
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
    return Scheme(
        _served(needs, outcome),
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


def _served(needs: tuple[PartNeed, ...], outcome: Outcome) -> tuple[tuple[PartNeed, str], ...]:
    """Deal the parts out, in the order of the plans."""
    left = dict(outcome.served)
    dealt = []
    for need in needs:
        key = next(key for key, count in left.items() if key[0] == need.want and count)
        left[key] -= 1
        dealt.append((need, key[1]))
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
    """Return what is spent in all money that can be counted together, in hundredths, rounded."""
    return rounded(scheme.counted)
