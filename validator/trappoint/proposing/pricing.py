"""The cost of new signals: the club's own parts are free, the others are made or bought."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from trappoint.parts.demand import SignalKey, Want, demand_of
from trappoint.parts.money import RATE_UNIT
from trappoint.parts.planning import counted_total, plan_parts
from trappoint.proposing.objectives import Prices

if TYPE_CHECKING:
    from trappoint.parts.store import Store
    from trappoint.proposing.proposal import Draft, Proposal

DEAREST = 1 << 62
"""The cost of a proposal if the store lacks parts for it."""


MAX_DOLLS = 6
"""The number of dolls above which every mount has the same price in the search."""

NOT_SOLD = 1_000_000
"""The price in the search of a part that no shop sells, in hundredths: the club may make it."""


def prices_of(store: Store) -> Prices:
    """Return the prices of mounts and arms by the piece, and the numbers that the club owns.
    Postage, packs and what can be made are left out here: they are counted exactly for the
    proposals that are found.
    """
    form = "upper-quadrant"
    mounts = [
        Want(True, "post" if dolls == 1 else "bracket", form, dolls, None)
        for dolls in range(1, MAX_DOLLS + 1)
    ]
    arm = Want(False, "stop", form, 0, None)
    return Prices(
        tuple(_by_the_piece(store, want) for want in mounts),
        tuple(_owned(store, want) for want in mounts),
        _by_the_piece(store, arm),
        _owned(store, arm),
    )


def _owned(store: Store, want: Want) -> int:
    return sum(part.owned for part in store.parts.values() if part.serves(want))


def _by_the_piece(store: Store, want: Want) -> int:
    """Return the lowest price of one piece in any shop, with the rest of its pack for nothing."""
    asked = [
        -(-offer.price * rate // (count * RATE_UNIT))
        for shop in store.shops.values()
        if (rate := store.rate(shop.currency)) is not None
        for offer in shop.offers
        for part, count in offer.contains.items()
        if count and store.parts[part].serves(want)
    ]
    return min(asked, default=NOT_SOLD)


def price(proposal: Proposal, store: Store, *, seconds: float | None = None) -> Proposal:
    """Return the proposals with their costs, the cheapest first; among equals the smaller first.

    Existing signals cost nothing. ``seconds`` is the time limit for each. Raises NotInstalled.
    """
    priced = [replace(draft, cost=_cost(draft, store, seconds)) for draft in proposal.drafts]
    order = sorted(priced, key=lambda draft: DEAREST if draft.cost is None else draft.cost)
    return replace(proposal, drafts=tuple(order), priced_in=store.currency)


def _cost(draft: Draft, store: Store, seconds: float | None) -> int | None:
    """Return the cost of the new signals in hundredths; None if the store lacks parts."""
    layout = draft.report.layout
    if layout is None:
        return None
    new = {reason.signal for reason in draft.reasons if reason.state == "new"} | {*draft.distants}
    kept = tuple(SignalKey("plan", name) for name in layout.signals if name not in new)
    answer = plan_parts(store, demand_of([("plan", layout)]), left_out=kept, seconds=seconds)
    return None if answer.scheme is None else counted_total(answer.scheme)
