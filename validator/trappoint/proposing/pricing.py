"""What the new signals of proposals cost: what is owned is free, the rest is made or bought."""

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
"""Stands for the cost of what the store cannot give."""


MAX_DOLLS = 6
"""Mounts for more arms than this count as these do."""

NOT_SOLD = 1_000_000
"""Counts for what no shop sells by itself, in hundredths: it may be made still."""


def prices_of(store: Store) -> Prices:
    """Return what a store asks for mounts and arms by the piece, and how many the club owns.

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
    """Return the least that a shop asks for one, other things in its pack thrown in."""
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
    """Return the proposals with what each costs, the cheapest first; of equals the smaller one.

    Signals that the plan had need nothing. ``seconds`` for each. Raises NotInstalled.
    """
    priced = [replace(draft, cost=_cost(draft, store, seconds)) for draft in proposal.drafts]
    order = sorted(priced, key=lambda draft: DEAREST if draft.cost is None else draft.cost)
    return replace(proposal, drafts=tuple(order), priced_in=store.currency)


def _cost(draft: Draft, store: Store, seconds: float | None) -> int | None:
    """Return the cost of the new signals in hundredths; None if they cannot be had."""
    layout = draft.report.layout
    if layout is None:
        return None
    new = {reason.signal for reason in draft.reasons if reason.state == "new"} | {*draft.distants}
    kept = tuple(SignalKey("plan", name) for name in layout.signals if name not in new)
    answer = plan_parts(store, demand_of([("plan", layout)]), left_out=kept, seconds=seconds)
    return None if answer.scheme is None else counted_total(answer.scheme)
