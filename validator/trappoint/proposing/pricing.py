"""The cost of new signals: the club's own parts are free, the others are made or bought.

Only what can be had is proposed: a proposal for which the store lacks parts is passed over.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from trappoint.parts.demand import PartNeed, SignalKey, Want, demand_of
from trappoint.parts.money import RATE_UNIT, rounded_up
from trappoint.parts.planning import PartsPlan, counted_total, plan_parts
from trappoint.proposing.objectives import Prices

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint.parts.store import ReadyMade, Store
    from trappoint.proposing.proposal import Draft, Proposal

MAX_DOLLS = 6
"""The number of dolls above which every mount has the same price in the search."""

MOST = 200
"""The most pieces of one kind that the search counts as free."""

NOT_TO_BE_HAD = 1_000_000
"""The price in the search of a piece that the store cannot provide, in hundredths."""


MORE = 4
"""How many times as many proposals are made if a store can provide too few of them."""


class DraftParts(NamedTuple):
    """The parts for the new signals of a proposal."""

    plan: PartsPlan
    """What to use, make and buy; without a scheme, what the store lacks."""
    short_at_home: tuple[tuple[Want, int], ...] = ()
    """The wants that the club's own parts and recipes do not meet, each with its number."""


def prices_of(store: Store) -> Prices:
    """Return the prices of mounts and arms by the piece, and the numbers that cost nothing.

    Free are pieces that the club owns or makes from its own parts, ready-made signals included.
    Packs, and parts that serve two purposes, are left out here: they are counted exactly for the
    proposals that are found.
    """
    form = "upper-quadrant"
    arm = Want(False, "stop", form, 0, None)
    mounts = [
        Want(True, "post" if dolls == 1 else "bracket", form, dolls, None)
        for dolls in range(1, MAX_DOLLS + 1)
    ]
    free_arms, free_mounts = _free(store, arm), [_free(store, want) for want in mounts]
    arm_price = _next_piece(store, arm, free_arms)
    prices = [_next_piece(store, *each) for each in zip(mounts, free_mounts, strict=True)]
    for part in store.parts.values():
        dolls = 0 if part.as_signal is None else _dolls_of_stops(part.as_signal, form)
        if part.as_signal is None or not 1 <= dolls <= MAX_DOLLS:
            continue
        free_arms += part.owned * dolls
        free_mounts[dolls - 1] += part.owned
        whole = _by_the_piece(store, part.id)
        if whole is not None:
            prices[dolls - 1] = min(prices[dolls - 1], max(0, whole - dolls * arm_price))
    return Prices(tuple(prices), tuple(free_mounts), arm_price, free_arms)


def _dolls_of_stops(ready: ReadyMade, form: str) -> int:
    """Return the number of dolls of a ready-made signal with one stop arm on each; else 0."""
    dolls = len(ready.dolls)
    mount = "post" if dolls == 1 else "bracket"
    suits = ready.form == form and ready.mount == mount and set(ready.dolls) == {("stop",)}
    return dolls if suits else 0


def _free(store: Store, want: Want) -> int:
    """Return how many pieces cost nothing, at most ``MOST``."""
    if not any(part.serves(want) for part in store.parts.values()):
        return 0
    answer = plan_parts(store._replace(shops={}), _pieces(want, MOST))
    return MOST - sum(count for _, count in answer.short)


def _next_piece(store: Store, want: Want, free: int) -> int:
    """Return the price of one more piece than those that are free, in hundredths, rounded up."""
    served = [id_ for id_, part in store.parts.items() if part.serves(want)]
    asked = [price for id_ in served if (price := _by_the_piece(store, id_)) is not None]
    if asked or not served:
        return min(asked, default=NOT_TO_BE_HAD)
    answer = plan_parts(store, _pieces(want, free + 1))
    return NOT_TO_BE_HAD if answer.scheme is None else rounded_up(answer.scheme.counted)


def _pieces(want: Want, count: int) -> tuple[PartNeed, ...]:
    return tuple(PartNeed("", str(n), None if want.is_mount else "arm", want) for n in range(count))


def _by_the_piece(store: Store, part: str) -> int | None:
    """Return the lowest price of one piece in any shop, with the rest of its pack for nothing."""
    asked = [
        -(-offer.price * rate // (offer.contains[part] * RATE_UNIT))
        for shop in store.shops.values()
        if (rate := store.rate(shop.currency)) is not None
        for offer in shop.offers
        if part in offer.contains
    ]
    return min(asked, default=None)


def price(proposal: Proposal, store: Store, *, seconds: float | None = None) -> Proposal:
    """Return the proposals that can be had with their costs, the cheapest first.

    Among equals the smaller comes first. The others are passed over. Existing signals cost nothing.
    ``seconds`` is the time limit for each. Raises NotInstalled.
    """
    priced = [_priced(draft, store, seconds) for draft in proposal.drafts]
    to_be_had = [draft for draft in priced if draft.cost is not None]
    others = [draft for draft in priced if draft.cost is None]
    return replace(
        proposal,
        drafts=tuple(sorted(to_be_had, key=lambda draft: draft.cost or 0)),
        passed_over=tuple(sorted(others, key=_missing)),
        priced_in=store.currency,
    )


def enough_to_be_had(count: int, propose: Callable[[int], Proposal]) -> Proposal:
    """Return at most ``count`` proposals; more are made if the store can provide too few of them.

    ``propose`` takes the number of proposals to make.
    """
    for tried in (count, MORE * count):
        found = propose(tried)
        if len(found.drafts) >= count or len(found.drafts) + len(found.passed_over) < tried:
            break
    return replace(found, drafts=found.drafts[:count])


def _missing(draft: Draft) -> int:
    return sum(count for _, count in draft.parts.plan.short) if draft.parts else 0


def _priced(draft: Draft, store: Store, seconds: float | None) -> Draft:
    layout = draft.report.layout
    if layout is None:
        return draft
    new = {reason.signal for reason in draft.reasons if reason.state == "new"} | {*draft.distants}
    kept = tuple(SignalKey("plan", name) for name in layout.signals if name not in new)
    needs = demand_of([("plan", layout)])
    answer = plan_parts(store, needs, left_out=kept, seconds=seconds)
    if answer.scheme is None:
        return replace(draft, parts=DraftParts(answer))
    short: tuple[tuple[Want, int], ...] = ()
    if answer.scheme.orders:
        at_home = store._replace(shops={})
        short = plan_parts(at_home, needs, left_out=kept, seconds=seconds).short
    return replace(draft, cost=counted_total(answer.scheme), parts=DraftParts(answer, short))
