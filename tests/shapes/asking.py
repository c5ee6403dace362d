"""Random requests for shapes, written from the page and not from the library."""

from __future__ import annotations

import json
import random
from typing import Any

from trappoint.shapes.laying import ShapePiece, lay_out
from trappoint.shapes.shapes import read_piece

Plan = dict[str, Any]

TAKES = {
    "through-station": ("lines", "roads", "platforms"),
    "passing-loop": ("roads", "platforms"),
    "terminus": ("lines", "roads", "platforms"),
    "junction": ("lines",),
    "crossover-pair": ("platforms",),
    "ladder-yard": ("lines", "roads"),
    "round-and-round": ("lines", "roads", "platforms", "hidden"),
}
ALONG = [name for name in TAKES if name not in ("terminus", "round-and-round")]


def ask(rng: random.Random, name: str, most: int = 12) -> str:
    """Return a random request for a shape, with or without options."""
    asked: dict[str, int] = {}
    lines = 2 if name == "crossover-pair" else 1
    for word in TAKES[name]:
        if word == "lines":
            lines = asked["lines"] = rng.choice((1, 2))
        elif word == "platforms":
            roads = asked.get("roads", 2)
            asked["platforms"] = rng.randint(0, roads // 2 + 1)
        else:
            least = 2 if name in ("passing-loop", "ladder-yard") else lines
            asked[word] = rng.randint(least, most)
    if rng.random() < 0.1:
        return name
    return f"{name}:{','.join(f'{word}={number}' for word, number in asked.items())}"


def ask_for_several(rng: random.Random, most: int = 5) -> list[str]:
    """Return random requests for shapes along a line, with a terminus at no, one or either end."""
    names = rng.choices(ALONG, k=rng.randint(1, 4))
    for at in (0, len(names) + 1):
        if rng.random() < 0.4:
            names.insert(at, "terminus")
    return [ask(rng, name, most) for name in names]


def laid(*texts: str, **usual: int) -> Plan:
    """Lay shapes and return the plan, written as JSON and read again."""
    plan: Plan = lay_out([ShapePiece(*read_piece(text, usual)) for text in texts])
    read: Plan = json.loads(json.dumps(plan))
    assert read == plan
    return read
