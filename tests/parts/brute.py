"""The least cost by brute force: all purchases, all sequences of recipes, all assignments.

An assignment gives each signal a ready-made one, or a mount and arms.

Written from the definitions alone, on the store's JSON; it shares no code with the library. It
needs tiny stores in which each offer has ``stock`` and each recipe ``most``.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product
from typing import Any

Json = dict[str, Any]
Thing = tuple[str, str, str, int]
"""A mount with its number of dolls, or an arm with its doll: (signal, "mount:post", form, 1)."""
Best = tuple[int, int]
"""Hundredths, minutes."""


def cents(text: str) -> int:
    whole, _, part = text.partition(".")
    return int(whole) * 100 + int((part + "00")[:2])


def purchases(store: Json) -> Iterator[tuple[int, dict[str, int]]]:
    """Yield everything that can be bought, with what it costs (one currency)."""
    offers = [
        (shop, offer)
        for shop in store.get("shops", {}).values()
        for offer in shop["offers"].values()
    ]
    for counts in product(*(range(offer["stock"] + 1) for _, offer in offers)):
        have = {part: value.get("owned", 0) for part, value in store["parts"].items()}
        cost = 0
        for shop in store.get("shops", {}).values():
            goods = ordered = 0
            for (seller, offer), count in zip(offers, counts, strict=True):
                if seller is shop and count:
                    ordered += count
                    goods += count * cents(offer["price"])
            cost += goods
            free = "free_from" in shop and goods >= cents(shop["free_from"])
            if ordered and not free:
                cost += cents(shop.get("postage", "0"))
        for (_, offer), count in zip(offers, counts, strict=True):
            for part, each in offer["contains"].items():
                have[part] += each * count
        yield cost, have


def workings(store: Json, have: dict[str, int]) -> dict[tuple[int, ...], int]:
    """Return every stock that can be come to by doing recipes one at a time, with its minutes."""
    parts = list(store["parts"])
    recipes = list(store.get("recipes", {}).values())
    start = (tuple(have[part] for part in parts), (0,) * len(recipes))
    seen = {start}
    todo = [start]
    found: dict[tuple[int, ...], int] = {}
    while todo:
        stock, done = todo.pop()
        minutes = sum(n * r.get("minutes", 0) for n, r in zip(done, recipes, strict=True))
        found[stock] = min(found.get(stock, minutes), minutes)
        for index, recipe in enumerate(recipes):
            if done[index] == recipe["most"]:
                continue
            after = dict(zip(parts, stock, strict=True))
            if any(after[part] < count for part, count in recipe["uses"].items()):
                continue
            for part, count in recipe["uses"].items():
                after[part] -= count
            for part, count in recipe["yields"].items():
                after[part] += count
            more = tuple(n + (i == index) for i, n in enumerate(done))
            state = (tuple(after.values()), more)
            if state not in seen:
                seen.add(state)
                todo.append(state)
    return found


def serves(part: Json, thing: Thing) -> bool:
    _, what, form, dolls = thing
    kind, _, word = what.partition(":")
    given = part.get("as_mount" if kind == "mount" else "as_arm")
    if given is None or word not in given["mounts" if kind == "mount" else "kinds"]:
        return False
    if form not in given.get("forms", [form]):
        return False
    if "dolls" in given and given["dolls"] != dolls:
        return False
    return bool(dolls <= given.get("most_dolls", dolls))


def is_whole(part: Json, things: list[Thing]) -> bool:
    """Return whether a part is a signal with exactly these things, which are those of a signal."""
    given = part.get("as_signal")
    mounts = [thing for thing in things if thing[1].startswith("mount:")]
    if given is None or len(mounts) != 1:
        return False
    arms: dict[int, list[str]] = {}
    for _, what, _, doll in things:
        if what.startswith("arm:"):
            arms.setdefault(max(doll, 1), []).append(what[4:])
    return bool(
        given["mount"] == mounts[0][1][6:]
        and given["form"] == mounts[0][2]
        and [sorted(kinds) for kinds in given["dolls"]]
        == [sorted(kinds) for _, kinds in sorted(arms.items())]
    )


def most_served(store: Json, stock: tuple[int, ...], things: list[Thing]) -> int:
    """Return how many of these things can be had at once, by trying."""
    signals = list(dict.fromkeys(thing[0] for thing in things))
    return _most_of(store, stock, [[t for t in things if t[0] == key] for key in signals], [])


def _most_of(
    store: Json, stock: tuple[int, ...], signals: list[list[Thing]], loose: list[Thing]
) -> int:
    if not signals:
        return _most_loose(store, stock, loose)
    first, rest = signals[0], signals[1:]
    best = _most_of(store, stock, rest, [*loose, *first])
    for index, part in enumerate(store["parts"].values()):
        if stock[index] and is_whole(part, first):
            left = (*stock[:index], stock[index] - 1, *stock[index + 1 :])
            best = max(best, len(first) + _most_of(store, left, rest, loose))
    return best


def _most_loose(store: Json, stock: tuple[int, ...], things: list[Thing]) -> int:
    if not things:
        return 0
    first, rest = things[0], things[1:]
    best = _most_loose(store, stock, rest)
    for index, part in enumerate(store["parts"].values()):
        if best == len(things):
            break
        if stock[index] and serves(part, first):
            left = (*stock[:index], stock[index] - 1, *stock[index + 1 :])
            best = max(best, 1 + _most_loose(store, left, rest))
    return best


def all_stocks(store: Json) -> list[tuple[int, int, tuple[int, ...]]]:
    """Return (cost, minutes, stock) for all that can be bought and made."""
    return sorted(
        (cost, minutes, stock)
        for cost, have in purchases(store)
        for stock, minutes in workings(store, have).items()
    )


def cheapest(
    store: Json, ways: list[tuple[int, int, tuple[int, ...]]], things: list[Thing]
) -> Best | None:
    """Return the least cost and the least minutes at it; None if it cannot be done."""
    for cost, minutes, stock in ways:
        if most_served(store, stock, things) == len(things):
            return cost, minutes
    return None


def least_short(
    store: Json, ways: list[tuple[int, int, tuple[int, ...]]], things: list[Thing]
) -> int:
    stocks = {stock for _, _, stock in ways}
    return len(things) - max(most_served(store, stock, things) for stock in stocks)


def fewest_left_out(
    store: Json, ways: list[tuple[int, int, tuple[int, ...]]], things: list[Thing]
) -> tuple[int, Best]:
    """Return how few signals must be left out, and the cost and work of the rest."""
    signals = list(dict.fromkeys(thing[0] for thing in things))
    for count in range(len(signals) + 1):
        found = [
            best
            for gone in combinations(signals, count)
            if (best := cheapest(store, ways, [t for t in things if t[0] not in gone])) is not None
        ]
        if found:
            return count, min(found)
    raise AssertionError("without any signal nothing is needed")
