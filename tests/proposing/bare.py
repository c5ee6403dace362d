"""Plans without signals, and helpers for their proposals."""

from __future__ import annotations

import random
from typing import Any

from oracle.plans import random_plan

Plan = dict[str, Any]


def bare_plan(seed: int, elements: tuple[int, int] = (1, 5)) -> Plan:
    """A random plan without signals, the same for the same seed."""
    plan = random_plan(random.Random(seed), elements, flaws=0)
    del plan["signals"]
    return plan


def track_ends(plan: Plan) -> list[tuple[str, str]]:
    """Where a signal can stand: at each end of a track beyond which it goes on."""
    return [
        (name, heading)
        for name, track in plan["tracks"].items()
        for heading in ("down", "up")
        if track.get("running", "both") in ("both", heading)
        and not track[heading].startswith(("buffer", "edge:"))
    ]


def signalled(plan: Plan, ends: tuple[tuple[str, str], ...]) -> Plan:
    """The plan with a stop signal at each of these ends."""
    signals = {
        f"s{number}": {"track": track, "for": heading, "arms": [{"id": f"a{number}"}]}
        for number, (track, heading) in enumerate(ends, 1)
    }
    return {**plan, "signals": signals}


NOWHERE_FOR_A_POST: Plan = {
    "format": "trappoint-layout/1",
    "tracks": {
        "line": {"up": "edge:w", "down": "p.toe"},
        "a": {"up": "p.left", "down": "buffer"},
        "b": {"up": "p.right", "down": "edge:e"},
    },
    "points": {"p": {"normal": "left"}},
    "yards": {"y": {"tracks": ["a"], "points": ["p"]}},
}
"""Points of a yard whose leg leads straight out: there is no track on which to hold trains."""
