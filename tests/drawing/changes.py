"""Small changes of a plan, and how much of its drawing stays as it was.

There are two measures. The first takes all pairs of tracks in both plans: it is the share of pairs
in the same order from top to bottom, or level in both. The second takes all pairs of points,
crossings and turntables: it is the share of pairs in the same order from left to right.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Callable
from itertools import combinations
from typing import Any

from trappoint.drawing.sketch import Sketch

Plan = dict[str, Any]


def add_siding(rng: random.Random, plan: Plan) -> None:
    """Put points into a track, and a siding at their other leg."""
    track = rng.choice(list(plan["tracks"]))
    given = plan["tracks"][track]
    rest = {**given, "up": "new.right"}
    legs = {"toe": "new.toe", "leg": "new.left"}
    if rng.random() < 0.5:
        rest, legs = {**given, "up": "new.toe"}, {"toe": "new.right", "leg": "new.left"}
        plan["tracks"]["new-siding"] = {"up": "buffer", "down": legs["leg"]}
    else:
        plan["tracks"]["new-siding"] = {"up": legs["leg"], "down": "buffer"}
    for key in ("length_mm",):
        rest.pop(key, None)
        given.pop(key, None)
    plan["tracks"]["new-rest"] = rest
    given["down"] = legs["toe"]
    plan.setdefault("points", {})["new"] = {"normal": "right"}


def add_signal(rng: random.Random, plan: Plan) -> None:
    """Put up another signal."""
    signal = {"track": rng.choice(list(plan["tracks"])), "for": rng.choice(("up", "down"))}
    plan.setdefault("signals", {})["new"] = {**signal, "arms": [{"id": "new"}]}


def add_platform(rng: random.Random, plan: Plan) -> None:
    """Build another platform."""
    platform = {"tracks": [rng.choice(list(plan["tracks"]))], "name": "The new platform"}
    plan.setdefault("platforms", {})["new"] = platform


def name_anew(rng: random.Random, plan: Plan) -> None:
    """Give a track's name more letters."""
    rng.choice(list(plan["tracks"].values()))["name"] = "The new name of this track"


CHANGES: tuple[Callable[[random.Random, Plan], None], ...] = (
    add_siding, add_signal, add_platform, name_anew,
)  # fmt: skip


def changed(rng: random.Random, plan: Plan, change: Callable[[random.Random, Plan], None]) -> Plan:
    """The plan with one change."""
    result = copy.deepcopy(plan)
    change(rng, result)
    return result


def kept(before: Sketch, after: Sketch) -> tuple[float, float]:
    """How much has kept its lane and its order, each as a share of all pairs."""
    return _same(_lanes(before), _lanes(after)), _same(_columns(before), _columns(after))


def _lanes(drawing: Sketch) -> dict[str, float]:
    return {p.track: drawing.lanes.of_piece[p.index] for p in reversed(drawing.graph.pieces)}


def _columns(drawing: Sketch) -> dict[str, float]:
    kinds = ("points", "crossings", "turntables")
    return {n.id: drawing.places.x[n.index] for n in drawing.graph.nodes if n.kind in kinds}


def _same(before: dict[str, float], after: dict[str, float]) -> float:
    pairs = list(combinations([name for name in before if name in after], 2))
    if not pairs:
        return 1.0

    def sign(of: dict[str, float], one: str, other: str) -> int:
        return (of[one] > of[other] + 0.01) - (of[one] < of[other] - 0.01)

    return sum(sign(before, *pair) == sign(after, *pair) for pair in pairs) / len(pairs)
