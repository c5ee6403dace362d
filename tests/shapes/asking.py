"""Random requests for shapes, written from the page and not from the library."""

from __future__ import annotations

import json
import random
from typing import Any

from trappoint.shapes.along import lay_out
from trappoint.shapes.reading import read_piece

Plan = dict[str, Any]

TAKES = {
    "through-station": ("lines", "roads", "platforms", "faces"),
    "passing-loop": ("roads", "platforms", "faces"),
    "terminus": ("lines", "roads", "platforms", "faces", "release"),
    "bay-station": ("lines", "roads", "bays", "platforms", "faces", "side", "buffers"),
    "goods-station": ("lines", "roads", "platforms", "faces", "sidings", "side", "trap"),
    "siding": ("lines", "side", "buffers", "trap"),
    "ladder-yard": ("lines", "roads", "side", "buffers", "trap"),
    "headshunt": ("lines", "roads", "side", "buffers"),
    "crossover": ("facing",),
    "crossover-pair": ("platforms",),
    "junction": ("lines", "side"),
    "triangle": ("side",),
    "balloon-loop": ("roads",),
    "plain-line": ("lines", "length"),
    "corner": ("lines", "radius"),
    "round-and-round": ("lines", "roads", "platforms", "faces", "hidden"),
}
DOUBLE = ("crossover", "crossover-pair")
EACH_WAY = ("through-station", "terminus", "bay-station", "goods-station", "round-and-round")
"""Stations, which have a road at least for each way of a double line."""
AT_LEAST_TWO = ("passing-loop", "ladder-yard", "headshunt")
AT_THE_END = ("terminus", "balloon-loop")
ALONG = [name for name in TAKES if name not in (*AT_THE_END, "round-and-round")]
WORDS = {
    "side": ("north", "south"),
    "buffers": ("east", "west"),
    "trap": ("yes", "no"),
    "facing": ("yes", "no"),
}


def ask(rng: random.Random, name: str, most: int = 12) -> str:
    """Return a random request for a shape, with or without options."""
    asked = options(rng, name, most)
    if rng.random() < 0.1:
        return name
    return f"{name}:{','.join(f'{word}={value}' for word, value in asked.items())}"


def options(rng: random.Random, name: str, most: int = 12) -> dict[str, int | str]:
    """Return random options that a shape can have together."""
    asked: dict[str, Any] = {}
    lines = 2 if name in DOUBLE else 1
    for word in TAKES[name]:
        if word == "lines":
            lines = asked["lines"] = rng.choice((1, 2))
        elif word in WORDS:
            asked[word] = rng.choice(WORDS[word])
        elif word in ("length", "radius"):
            asked[word] = rng.randint(100, 9000)
        elif word == "bays":
            asked[word] = rng.randint(1, min(most, 4))
        elif word == "release":
            asked[word] = rng.randint(0, asked["roads"] // 2)
        elif word == "platforms":
            roads = asked.get("roads", 2) + asked.get("bays", 0)
            asked[word] = rng.randint(0, min(roads, 12))
        elif word == "faces":
            if rng.random() < 0.3:
                del asked["platforms"]
                asked[word] = rng.randint(1, min(asked["roads"] + asked.get("bays", 0), 12))
        else:
            least = lines if name in EACH_WAY and word in ("roads", "hidden") else 1
            if name in AT_LEAST_TWO or word == "sidings":
                least = 2
            asked[word] = rng.randint(least, max(most, least))
    return asked


def ask_for_several(rng: random.Random, most: int = 5) -> list[str]:
    """Return random requests for shapes along a line; the line may end at no, one or either end."""
    names = rng.choices(ALONG, k=rng.randint(1, 4))
    for at in (0, len(names) + 1):
        if rng.random() < 0.4:
            names.insert(at, rng.choice(AT_THE_END))
    return [ask(rng, name, most) for name in names]


def laid(*texts: str, **usual: int) -> Plan:
    """Lay shapes and return the plan, written as JSON and read again."""
    plan: Plan = lay_out([read_piece(text, usual) for text in texts])
    read: Plan = json.loads(json.dumps(plan))
    assert read == plan
    return read
