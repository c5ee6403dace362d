"""Tiny random stores and needs: ready-made signals, circles, tools, kits, postage and all."""

from __future__ import annotations

from random import Random
from typing import Any

from parts.brute import Thing
from trappoint.parts.demand import PartNeed, Want

WORDS = ("mount:post", "mount:bracket", "arm:stop", "arm:distant")
PARTS = ("a", "b", "c", "d")


def random_things(random: Random) -> list[Thing]:
    things: list[Thing] = []
    for number in range(random.randint(1, 3)):
        dolls = random.choice((1, 1, 2))
        mount = "mount:post" if dolls == 1 else "mount:bracket"
        things.append((str(number), mount, "disc", dolls))
        for doll in range(1, dolls + 1):
            if random.random() < 0.6:
                things.append((str(number), random.choice(WORDS[2:]), "disc", doll))
    return things


def needs_of(things: list[Thing]) -> tuple[PartNeed, ...]:
    needs = []
    for number, (signal, what, form, dolls) in enumerate(things):
        kind, _, word = what.partition(":")
        if kind == "mount":
            needs.append(PartNeed("p", signal, None, Want(True, word, form, dolls, None)))
        else:
            want = Want(False, word, form, 0, None)
            needs.append(PartNeed("p", signal, f"arm{number}", want, max(dolls, 1)))
    return tuple(needs)


def _bill(random: Random, most: int = 2) -> dict[str, int]:
    chosen = random.sample(PARTS, random.choice((1, 1, 2)))
    return {part: random.randint(1, most) for part in chosen}


def _part(random: Random) -> dict[str, Any]:
    part: dict[str, Any] = {"owned": random.choice((0, 0, 1, 2))}
    choice = random.random()
    if choice < 0.3:
        part["owned"] = random.choice((0, 1, 2))
        dolls = random.choice((["stop"], ["stop"], ["distant"], ["stop", "stop"]))
        mount = "post" if len(dolls) == 1 else "bracket"
        part["as_signal"] = {"mount": mount, "form": "disc", "dolls": [[kind] for kind in dolls]}
    elif choice < 0.5:
        part["as_mount"] = {"mounts": random.choice((["post"], ["bracket"], ["post", "bracket"]))}
        if random.random() < 0.3:
            part["as_mount"][random.choice(("dolls", "most_dolls"))] = random.randint(1, 2)
    elif choice < 0.85:
        part["as_arm"] = {"kinds": random.choice((["stop"], ["distant"], ["stop", "distant"]))}
    return part


def _shop(random: Random, offers: int) -> dict[str, Any]:
    shop: dict[str, Any] = {
        "offers": {
            f"o{number}": {
                "contains": _bill(random, 3),
                "price": f"{random.randint(0, 4)}.{random.choice(('00', '50', '05'))}",
                "stock": random.randint(1, 2),
            }
            for number in range(offers)
        }
    }
    if random.random() < 0.6:
        shop["postage"] = f"{random.randint(1, 4)}.00"
        if random.random() < 0.6:
            shop["free_from"] = f"{random.randint(2, 7)}.00"
    return shop


def random_store(random: Random) -> dict[str, Any]:
    recipes = {}
    for number in range(random.choice((1, 2, 3, 3))):
        uses, yields = _bill(random), _bill(random, 3)
        if uses != yields:
            minutes = random.choice((0, 5, 10, 25))
            most = random.randint(1, 2)
            recipes[f"r{number}"] = {
                "uses": uses, "yields": yields, "minutes": minutes, "most": most
            }  # fmt: skip
    return {
        "format": "trappoint-store/1",
        "currency": "GBP",
        "parts": {part: _part(random) for part in PARTS},
        "recipes": recipes,
        "shops": {
            f"s{n}": _shop(random, random.randint(1, 2)) for n in range(random.randint(0, 2))
        },
    }


def open_ended(store: dict[str, Any]) -> dict[str, Any]:
    """The same store without any ``stock`` and ``most``."""
    return {
        **store,
        "recipes": {
            key: {k: v for k, v in recipe.items() if k != "most"}
            for key, recipe in store["recipes"].items()
        },
        "shops": {
            key: {
                **shop,
                "offers": {
                    number: {k: v for k, v in offer.items() if k != "stock"}
                    for number, offer in shop["offers"].items()
                },
            }
            for key, shop in store["shops"].items()
        },
    }
