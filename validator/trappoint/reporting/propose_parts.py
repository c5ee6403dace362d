"""The parts of proposals in words and as data: what they cost, what is short, and what cures it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.core.quoting import listed
from trappoint.core.terminal import plural
from trappoint.parts.money import tell_amount
from trappoint.parts.rendering import order_data, want_data

if TYPE_CHECKING:
    from trappoint.parts.demand import Want
    from trappoint.parts.planning import ShopOrder
    from trappoint.parts.store import Store
    from trappoint.proposing.proposal import Draft, Proposal


def cost_of(proposal: Proposal, draft: Draft) -> list[str]:
    """Return sentences on the cost of a proposal that can be had, and on what must be bought."""
    if proposal.priced_in is None or draft.cost is None or draft.parts is None:
        return []
    least = ", the least of these proposals" if draft is proposal.drafts[0] else ""
    told = [f"Its new signals cost {tell_amount(draft.cost)} {proposal.priced_in}{least}."]
    scheme = draft.parts.plan.scheme
    if scheme is None or not scheme.orders:
        return [*told, "The drawer has, or gives by recipes, all parts for them."]
    if draft.parts.short_at_home:
        told.append(f"The drawer is short of {_wants(draft.parts.short_at_home)}.")
    return [*told, *(f"The least purchase: {_order(order)}." for order in scheme.orders)]


def _order(order: ShopOrder) -> str:
    packs = [
        f"{count} x {offer.name or offer.id}{f' ({offer.id})' if offer.name else ''}"
        for offer, count in order.packs
    ]
    total = f"{order.shop.currency} {tell_amount(order.total)} with postage"
    return f"from {order.shop.name}, {listed(packs, 'and')}, {total}"


def _wants(short: tuple[tuple[Want, int], ...]) -> str:
    return "; ".join(f"{count} x {want.tell()}" for want, count in short)


def passed_over(proposal: Proposal, store: Store | None, most: int = 3) -> list[str]:
    """Return sentences on the proposals that cannot be had, the one that lacks fewest first."""
    told = []
    for draft in proposal.passed_over[:most]:
        size = f"{plural(draft.signals, 'signal')} with {plural(draft.arms, 'arm')}"
        told.append(f"Not to be had: {size}. {_lack(draft, store)}")
    more = len(proposal.passed_over) - most
    return [*told, f"And {more} more that cannot be had."] if more > 0 else told


def _lack(draft: Draft, store: Store | None) -> str:
    plan = draft.parts.plan if draft.parts else None
    if plan is None or plan.too_late or plan.undecided or not plan.short:
        return "The search for its parts found no answer in time."
    words = [f"The store lacks {_wants(plan.short)}."]
    never = [want for want, _ in plan.short if store is None or not _is_supplied(want, store)]
    some = [want for want, _ in plan.short if want not in never]
    if never:
        kinds = listed([want.tell() for want in never], "and")
        them = "it" if len(never) == 1 else "them"
        words.append(f"No purchase cures that: no shop sells {kinds}, and no recipe makes {them}.")
    if some:
        kinds = listed([want.tell() for want in some], "and")
        words.append(f"No purchase cures that: the stock of the shops has too few of {kinds}.")
    return " ".join(words)


def _is_supplied(want: Want, store: Store) -> bool:
    """Return whether a shop sells a part that serves, or a recipe makes one."""
    sold = {p for shop in store.shops.values() for offer in shop.offers for p in offer.contains}
    made = {p for recipe in store.recipes.values() for p in recipe.yields if recipe.net(p) > 0}
    return any(part.serves(want) for id_, part in store.parts.items() if id_ in sold | made)


def parts_data(draft: Draft) -> dict[str, Any]:
    """Return what is short and what to buy, as JSON values; empty lists without a store."""
    if draft.parts is None:
        return {"short_at_home": [], "short": [], "buy": []}
    scheme = draft.parts.plan.scheme
    return {
        "short_at_home": _short(draft.parts.short_at_home),
        "short": _short(draft.parts.plan.short),
        "buy": [] if scheme is None else [order_data(order) for order in scheme.orders],
    }


def passed_over_data(proposal: Proposal) -> list[dict[str, Any]]:
    """Return the proposals that cannot be had, as JSON values."""
    return [
        {
            "signals": draft.signals,
            "arms": draft.arms,
            "short": _short(draft.parts.plan.short if draft.parts else ()),
        }
        for draft in proposal.passed_over
    ]


def _short(short: tuple[tuple[Want, int], ...]) -> list[dict[str, Any]]:
    return [{"want": want_data(want), "by": count} for want, count in short]
