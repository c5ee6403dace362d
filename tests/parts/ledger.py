"""An audit of a printed parts plan: parts bought, made, fitted and left over.

It reads the printed JSON and the store's JSON, and nothing else.
"""

from __future__ import annotations

from typing import Any

from parts.brute import cents, serves

Json = dict[str, Any]


def audit(told: Json, scheme: Json, store: Json, left_out: list[Json] | None = None) -> None:
    """Fail unless each step of a scheme can be done and all sums agree."""
    have = {part: value.get("owned", 0) for part, value in store["parts"].items()}
    totals: dict[str, int] = {}
    for order in scheme["buy"]:
        _receive(order, store, have)
        currency = order["currency"]
        totals[currency] = totals.get(currency, 0) + cents(order["total"])
    assert scheme["totals"] == {c: f"{n // 100}.{n % 100:02d}" for c, n in totals.items()}
    minutes = 0
    for step in scheme["make"]:
        recipe = store["recipes"][step["recipe"]]
        minutes += recipe.get("minutes", 0) * step["times"]
        for _ in range(step["times"]):
            for part, count in recipe["uses"].items():
                assert have[part] >= count, f"{step['recipe']} lacks {part}"
                have[part] -= count
            for part, count in recipe["yields"].items():
                have[part] += count
    times: dict[str, int] = {}
    for step in scheme["make"]:
        times[step["recipe"]] = times.get(step["recipe"], 0) + step["times"]
    for recipe_id, count in times.items():
        assert count <= store["recipes"][recipe_id].get("most", count)
    assert scheme["minutes"] == minutes
    gone = {(key["plan"], key["signal"]) for key in left_out or ()}
    needs = [need for need in told["needs"] if (need["plan"], need["signal"]) not in gone]
    assert len(needs) == len(scheme["fit"])
    for need, fit in zip(needs, scheme["fit"], strict=True):
        assert [need[k] for k in ("plan", "signal", "arm")] == [
            fit[k] for k in ("plan", "signal", "arm")
        ]
        want = need["want"]
        kind = "mount" if "mount" in want else "arm"
        thing = (need["signal"], f"{kind}:{want[kind]}", want["form"], want.get("dolls", 0))
        assert serves(store["parts"][fit["part"]], thing), fit
        have[fit["part"]] -= 1
    assert all(count >= 0 for count in have.values())
    assert scheme["left_over"] == {part: count for part, count in have.items() if count}


def _receive(order: Json, store: Json, have: dict[str, int]) -> None:
    shop = store["shops"][order["shop"]]
    assert order["currency"] == shop.get("currency", store["currency"])
    goods = 0
    for pack in order["packs"]:
        offer = shop["offers"][pack["offer"]]
        assert 1 <= pack["packs"] <= offer.get("stock", pack["packs"])
        assert cents(pack["cost"]) == cents(offer["price"]) * pack["packs"]
        goods += cents(pack["cost"])
        for part, count in offer["contains"].items():
            have[part] += count * pack["packs"]
    assert cents(order["goods"]) == goods
    postage = cents(shop.get("postage", "0"))
    if "free_from" in shop and goods >= cents(shop["free_from"]):
        postage = 0
    assert cents(order["postage"]) == postage
    assert cents(order["total"]) == goods + postage
