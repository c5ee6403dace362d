"""Upper bounds for the solver: of runs of each recipe, and of useful pieces of each part.

Some best answer has no step whose whole yield is left over, and no pack that is wholly left over
unless it makes an order free of postage. These bounds admit that answer.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.parts.store import Offer, Recipe, Shop, Store

CAP = 10_000
"""Upper bound for the runs of recipes that form a circle, and for pieces of a part."""

_ROUNDS = 60


def most_useful(store: Store, wanted: Mapping[str, int]) -> tuple[dict[str, int], dict[str, int]]:
    """Return the most useful pieces of each part, and the most useful runs of each recipe.

    ``wanted``: for each part, the most pieces that can go on to the layouts.
    """
    owned = {part.id: part.owned for part in store.parts.values()}
    tools: dict[str, int] = {}
    for recipe in store.recipes.values():
        for part, count in recipe.uses.items():
            kept = min(count, recipe.yields.get(part, 0))
            tools[part] = max(tools.get(part, 0), kept)
    base = {part: wanted.get(part, 0) + tools.get(part, 0) for part in store.parts}
    limits = {recipe.id: _limit(store, recipe) for recipe in store.recipes.values()}
    needed, runs = base, dict.fromkeys(store.recipes, 0)
    for round_ in range(_ROUNDS + len(store.recipes)):
        more = {
            id_: min(limits[id_], _runs_for(recipe, needed, owned))
            for id_, recipe in store.recipes.items()
        }
        if more == runs:
            return needed, runs
        if round_ >= len(store.recipes):
            # Chains have settled by now; recipes whose runs still grow form a circle.
            more = {id_: limits[id_] if more[id_] > runs[id_] else more[id_] for id_ in more}
        runs = more
        needed = dict(base)
        for id_, recipe in store.recipes.items():
            for part in recipe.uses:
                used = max(0, -recipe.net(part)) * runs[id_]
                needed[part] = min(CAP, needed[part] + used)
    return needed, runs


def _runs_for(recipe: Recipe, needed: Mapping[str, int], owned: Mapping[str, int]) -> int:
    return max(
        (
            -(-max(0, needed[p] - owned[p]) // recipe.net(p))
            for p in recipe.yields
            if recipe.net(p) > 0
        ),
        default=0,
    )


def _limit(store: Store, recipe: Recipe) -> int:
    """Return the most runs of a recipe, as limited by parts that only the stock supplies."""
    limit = CAP if recipe.most is None else recipe.most
    sold = {p for shop in store.shops.values() for offer in shop.offers for p in offer.contains}
    made = {p for other in store.recipes.values() for p in other.yields if other.net(p) > 0}
    for part, count in recipe.uses.items():
        if part not in sold and part not in made:
            owned = store.parts[part].owned
            used_up = max(0, -recipe.net(part))
            limit = 0 if owned < count else limit if not used_up else min(limit, owned // used_up)
    return limit


def most_packs(store: Store, shop: Shop, offer: Offer, needed: Mapping[str, int]) -> int:
    """Return the most useful packs of an offer."""
    useful = max(
        (
            -(-max(0, needed[part] - store.parts[part].owned) // count)
            for part, count in offer.contains.items()
        ),
        default=0,
    )
    if shop.free_from is not None and offer.price:
        # Packs that only free the postage may cost no more than the postage.
        useful += shop.postage // offer.price
    useful = min(useful, CAP)
    return useful if offer.stock is None else min(useful, offer.stock)
