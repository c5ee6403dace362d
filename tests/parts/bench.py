"""The time to find the least cost: ``python tests/parts/bench.py [SEED]``.

The store has 200 parts, 100 recipes and 20 shops with 200 offers, for 40 signals. The script prints
seconds of the clock and of the processor; it cannot fail. Most of the time goes into the choice
among many shops that all charge postage.
"""

from __future__ import annotations

import json
import sys
import time
from random import Random
from statistics import median
from typing import Any

from trappoint.parts.demand import PartNeed, Want
from trappoint.parts.planning import plan_parts
from trappoint.parts.store_reading import read_store

PARTS, RECIPES, SHOPS, OFFERS, SIGNALS = 200, 100, 20, 10, 40
MOUNTS = ("post", "bracket", "gantry", "ground")
KINDS = ("stop", "distant", "calling-on", "shunt")
FORMS = ("upper-quadrant", "lower-quadrant", "disc", "colour-light")


def large_store(random: Random) -> dict[str, Any]:
    ids = [f"part-{n}" for n in range(PARTS)]
    parts: dict[str, Any] = {}
    for number, id_ in enumerate(ids):
        part: dict[str, Any] = {"owned": random.choice((0, 0, 1, 3))}
        form = FORMS[number % 4]
        if number < 48:
            part["as_mount"] = {"mounts": [MOUNTS[number // 4 % 4]], "forms": [form]}
        elif number < 96:
            part["as_arm"] = {"kinds": [KINDS[number // 4 % 4]], "forms": [form]}
        parts[id_] = part
    recipes = {}
    for number in range(RECIPES):
        # Three tiers: material (from 150), pieces (from 96), and what is fitted. Each recipe goes
        # down a tier or stays in one, towards lower numbers: chains and spares, but no circles.
        goal = random.randrange(0, 96) if number % 3 else random.randrange(96, 150)
        tier = range(goal + 1, 150) if goal < 96 else range(150, PARTS)
        uses = random.sample(tier, random.randint(1, 3))
        recipes[f"recipe-{number}"] = {
            "uses": {ids[n]: random.randint(1, 2) for n in uses},
            "yields": {ids[goal]: random.randint(1, 2), ids[random.randrange(goal, min(uses))]: 1},
            "minutes": random.randint(5, 60),
        }
    shops = {}
    for number in range(SHOPS):
        offers = {}
        for offer in range(OFFERS):
            count = random.choice((1, 1, 2, 5, 10))
            price = random.randint(80, 600) * count * (20 - min(count, 8)) // 20
            offers[f"o{offer}"] = {
                "contains": {random.choice(ids): count},
                "price": f"{price // 100}.{price % 100:02d}",
                "stock": random.randint(3, 40),
            }
        shops[f"shop-{number}"] = {
            "postage": f"{random.randint(2, 6)}.{random.choice(('00', '50', '95'))}",
            "free_from": f"{random.randint(20, 80)}.00",
            "offers": offers,
        }
    return {
        "format": "trappoint-store/1", "currency": "GBP",
        "parts": parts, "recipes": recipes, "shops": shops,
    }  # fmt: skip


def many_needs(random: Random) -> tuple[PartNeed, ...]:
    needs = []
    for number in range(SIGNALS):
        form = random.choice(FORMS)
        mount = Want(True, random.choice(MOUNTS), form, 1, None)
        needs.append(PartNeed("plan", str(number), None, mount))
        for arm in range(random.randint(1, 2)):
            want = Want(False, random.choice(KINDS), form, 0, None)
            needs.append(PartNeed("plan", str(number), f"{number}-{arm}", want))
    return tuple(needs)


def main(seeds: list[int]) -> None:
    taken = []
    for seed in seeds:
        random = Random(seed)
        text, needs = json.dumps(large_store(random)), many_needs(random)
        before, work_before = time.perf_counter(), time.process_time()
        store = read_store(text, "large").store
        assert store is not None
        answer = plan_parts(store, needs)
        taken.append(time.perf_counter() - before)
        work = time.process_time() - work_before
        scheme = answer.scheme or answer.rest
        assert scheme is not None
        print(
            f"seed {seed}: {taken[-1]:.2f} s, processor {work:.2f} s; "
            f"{'met' if answer.scheme else 'not met'}, "
            f"{sum(scheme.totals.values()) / 100:.2f} in {len(scheme.orders)} shops, "
            f"{len(scheme.steps)} steps, left out {len(answer.drop)}, proven {scheme.proven}",
            flush=True,
        )
    print(f"median {median(taken):.2f} s, most {max(taken):.2f} s")


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or list(range(10)))
