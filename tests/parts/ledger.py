"""An audit of a printed parts plan: parts bought, made, fitted and left over.

It reads the printed JSON and the store's JSON, and nothing else.
"""

from __future__ import annotations

from typing import Any

from parts.brute import Thing, cents, is_whole, serves

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
    ready: dict[tuple[str, str, str], list[Thing]] = {}
    for need, fit in zip(needs, scheme["fit"], strict=True):
        assert [need[k] for k in ("plan", "signal", "arm")] == [
            fit[k] for k in ("plan", "signal", "arm")
        ]
        want = need["want"]
        kind = "mount" if "mount" in want else "arm"
        dolls = want["dolls"] if kind == "mount" else need["doll"]
        thing = (need["signal"], f"{kind}:{want[kind]}", want["form"], dolls)
        if fit["ready_made"]:
            ready.setdefault((need["plan"], need["signal"], fit["part"]), []).append(thing)
            continue
        assert (need["plan"], need["signal"]) not in {key[:2] for key in ready}
        assert serves(store["parts"][fit["part"]], thing), fit
        have[fit["part"]] -= 1
    for (_, _, part), things in ready.items():
        assert is_whole(store["parts"][part], things), part
        have[part] -= 1
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


def work_through(bench: list[Json], scheme: Json, store: Json) -> None:
    """Fail unless the bench list can be worked as it is written, and does all of the scheme."""
    drawer = {part: value.get("owned", 0) for part, value in store["parts"].items()}
    parcels: dict[str, dict[str, int]] = {}
    for order in scheme["buy"]:
        parcels[order["shop"]] = dict.fromkeys(store["parts"], 0)
        _receive(order, store, parcels[order["shop"]])
    spare = dict.fromkeys(store["parts"], 0)
    done: dict[str, int] = {}
    fitted: dict[tuple[str, str], str] = {}
    for job in bench:
        hand = dict.fromkeys(store["parts"], 0)
        for take in job["take"]:
            source = {"drawer": drawer, "spare": spare}.get(take["from"])
            source = parcels[take["shop"]] if source is None else source
            source[take["part"]] -= take["count"]
            assert source[take["part"]] >= 0, (job["signal"], take)
            hand[take["part"]] += take["count"]
        for step in job["make"]:
            recipe = store["recipes"][step["recipe"]]
            done[step["recipe"]] = done.get(step["recipe"], 0) + step["times"]
            for part in {**recipe["uses"], **recipe["yields"]}:
                used, yielded = recipe["uses"].get(part, 0), recipe["yields"].get(part, 0)
                tools = min(used, yielded)
                everywhere = [drawer, spare, hand, *parcels.values()]
                assert sum(place[part] for place in everywhere) >= tools, (job["signal"], step)
                hand[part] += (yielded - used) * step["times"]
        for fit in job["fit"]:
            hand[fit["part"]] -= 1 if job["ready_made"] else len(fit["as"])
            for arm in fit["as"]:
                fitted[job["signal"], arm or ""] = fit["part"]
        assert all(count >= 0 for count in hand.values()), job["signal"]
        for part, count in hand.items():
            spare[part] += count
    made: dict[str, int] = {}
    for step in scheme["make"]:
        made[step["recipe"]] = made.get(step["recipe"], 0) + step["times"]
    assert done == made
    assert fitted == {(fit["signal"], fit["arm"] or ""): fit["part"] for fit in scheme["fit"]}
