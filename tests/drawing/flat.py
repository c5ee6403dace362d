"""Random plans with a drawing without crossings: each is made by filling a sheet from the left.

Nothing here knows of the library. A line sweeps over the sheet; the tracks that it meets stand in
a list, and each step does what can be done without crossing anything.
"""

from __future__ import annotations

import random
from typing import Any

Plan = dict[str, Any]


class Sheet:
    """A sheet being filled."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.plan: Plan = {
            "format": "trappoint-layout/1", "tracks": {}, "points": {}, "crossings": {},
        }  # fmt: skip
        self.live: list[str] = []
        """The other side of the up end of each track on the line, from top to bottom."""
        self.count = 0

    def name(self, letter: str) -> str:
        self.count += 1
        return f"{letter}{self.count}"

    def end(self, at: int, meets: str) -> None:
        """End the track at this place of the list."""
        self.plan["tracks"][self.name("k")] = {"up": self.live[at], "down": meets}

    def begin(self) -> None:
        at = self.rng.randint(0, len(self.live))
        meets = self.rng.choice(("buffer", f"edge:{self.name('e')}"))
        self.live.insert(at, meets)

    def split(self) -> None:
        at = self.rng.randrange(len(self.live))
        points = self.points()
        self.end(at, f"{points}.toe")
        self.live[at : at + 1] = [f"{points}.left", f"{points}.right"]

    def merge(self) -> None:
        at = self.rng.randrange(len(self.live) - 1)
        points = self.points()
        # Seen from the toe to the left, the lower road is on the left.
        self.end(at, f"{points}.right")
        self.end(at + 1, f"{points}.left")
        self.live[at : at + 2] = [f"{points}.toe"]

    def cross(self) -> None:
        at = self.rng.randrange(len(self.live) - 1)
        crossing = self.name("x")
        kind = self.rng.choice(("diamond", "single-slip", "double-slip"))
        self.plan["crossings"][crossing] = {"kind": kind}
        self.end(at, f"{crossing}.a1")
        self.end(at + 1, f"{crossing}.b1")
        self.live[at : at + 2] = [f"{crossing}.b2", f"{crossing}.a2"]

    def stop(self) -> None:
        at = self.rng.randrange(len(self.live))
        self.end(at, self.rng.choice(("buffer", f"edge:{self.name('e')}")))
        del self.live[at]

    def joint(self) -> None:
        at = self.rng.randrange(len(self.live))
        joint = f"joint:{self.name('j')}"
        self.end(at, joint)
        self.live[at] = joint

    def points(self) -> str:
        name = self.name("p")
        self.plan["points"][name] = {"normal": self.rng.choice(("left", "right"))}
        return name


def flat_plan(rng: random.Random, steps: int) -> Plan:
    """A plan that can be drawn flat, its tracks written down in any order."""
    sheet = Sheet(rng)
    sheet.begin()
    for _ in range(steps):
        can = [sheet.begin, sheet.split, sheet.split, sheet.joint]
        if len(sheet.live) > 1:
            can += [sheet.merge, sheet.merge, sheet.cross, sheet.stop]
        rng.choice(can)()
    while sheet.live:
        sheet.stop()
    tracks = list(sheet.plan["tracks"].items())
    rng.shuffle(tracks)
    sheet.plan["tracks"] = dict(tracks)
    return sheet.plan
