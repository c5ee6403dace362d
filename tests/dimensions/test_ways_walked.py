"""Distances on random plans, against a walk along the tracks that is written from the page alone.

All lengths are given. The walk knows tracks, legs and posts, and nothing of sections or places.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from typing import Any

import trappoint
from amount import amount
from oracle.plans import random_plan
from trappoint.dimensions.distances import distant_distances
from trappoint.facts.facts import Facts
from trappoint.model.layout import HEADINGS, Arm, End, Heading, Layout, opposite

Met = tuple[str, float | None, bool]
"""A signal, how far it is, and whether points or a crossing lie between; None for the unknown."""

SEEDS = amount(250, long=4000)
MAX_TRACKS = 9


def measured(rng: random.Random) -> dict[str, Any]:
    plan = random_plan(rng)
    plan.pop("yards", None)
    for track in plan["tracks"].values():
        track["length_mm"] = rng.randrange(5000, 9000)
    for points in plan.get("points", {}).values():
        points.update(leg_mm=rng.randrange(100, 200), toe_mm=rng.randrange(50, 99))
    for crossing in plan.get("crossings", {}).values():
        crossing["leg_mm"] = rng.randrange(100, 200)
    names = list(plan["tracks"])
    for number in range(4):
        plan["signals"][f"far-{number}"] = {
            "track": rng.choice(names),
            "for": rng.choice(("up", "down")),
            "at_mm": rng.randrange(1, 4999) + 0.5,
            "arms": [{"id": f"far-{number}", "kind": "distant"}],
        }
    return plan


class Walk:
    """A walk from a distant on, every way that there is, to the stop signals met first."""

    def __init__(self, layout: Layout, arm: Arm) -> None:
        self.layout = layout
        self.start = arm.track, arm.heading
        self.at = self.along(arm.track, arm.heading, arm.at_mm)

    def along(self, track: str, heading: Heading, at: float | None) -> float:
        """How far something stands from where trains of a heading come on to its track."""
        length = self.layout.tracks[track].length_mm or 0.0
        return length if at is None else at if heading == "down" else length - at

    def met(self) -> list[Met]:
        return list(self.go(*self.start, self.at, 0.0, over=False, left=MAX_TRACKS))

    def go(
        self, track_id: str, heading: Heading, run: float, far: float, *, over: bool, left: int
    ) -> Iterator[Met]:
        """Yield what is met from so far along a track."""
        track = self.layout.tracks[track_id]
        heads = [h for h in self.layout.holding_heads() if h.stops]
        here = [h for h in heads if (h.track, h.heading) == (track_id, heading)]
        stops = [(self.along(track_id, heading, h.at_mm), h.signal) for h in here]
        ahead = min((stop for stop in stops if stop[0] > run), default=None)
        again = (track_id, heading) == self.start and left < MAX_TRACKS
        if again and (ahead is None or ahead[0] > self.at):
            return  # past the distant once more: it counts from there
        if ahead is not None:
            yield ahead[1], far + ahead[0] - run, over
        elif not left:
            yield "", None, over
        else:
            end = track.end(heading)
            beyond = far + (track.length_mm or 0.0) - run
            for text, through in onward(self.layout, end.text):
                for other, out in self.from_end(text, end):
                    over_it = over or end.kind == "leg"
                    yield from self.go(
                        other, out, 0.0, beyond + through, over=over_it, left=left - 1
                    )

    def from_end(self, text: str, left_by: End) -> Iterator[tuple[str, Heading]]:
        """Yield the tracks that begin at an end, with the heading of a train that comes on."""
        for other in self.layout.tracks.values():
            for out in HEADINGS:
                into = other.end(opposite(out))
                if into.text == text and into is not left_by and other.allows(out):
                    yield other.id, out


def onward(layout: Layout, text: str) -> Iterator[tuple[str, float]]:
    """Yield the ends that a train comes to beyond one, with how far it is; a joint is no way."""
    if text.startswith("joint:"):
        yield text, 0.0
    name, _, leg = text.partition(".")
    if name in layout.points and leg in layout.points[name].legs:
        points = layout.points[name]
        long = (points.leg_mm or 0.0) + (points.toe_mm or 0.0)
        for out in points.lies if leg == "toe" else ("toe",):
            yield f"{name}.{out}", long
    elif name in layout.crossings:
        crossing = layout.crossings[name]
        for out, _lie in crossing.exits(leg):
            straight = out[0] == leg[0]
            yield f"{name}.{out}", 2 * (crossing.leg_mm or 0.0) if straight else float("nan")
    elif name in layout.turntables:
        for road in layout.turntables[name].roads:
            yield f"{name}.{road}", float("nan")


def test_what_is_told_is_what_is_walked() -> None:
    told = across = 0
    for seed in range(SEEDS):
        plan = measured(random.Random(seed))
        layout = trappoint.load(json.dumps(plan))
        for found in distant_distances(Facts(layout)):
            arm = next(arm for arm in layout.arms() if arm.id == found.arm)
            met = Walk(layout, arm).met()
            there = [one for one in met if one[0] == found.to]
            assert [one[1] for one in there] == [found.model_mm], (seed, found, met)
            told += 1
            across += there[0][2]
    assert told > 120
    assert across > 25
