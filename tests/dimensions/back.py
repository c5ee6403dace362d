"""Trains as intervals of track, walked back from the front on the plan's JSON alone.

Lengths are whole millimetres: a train occupies one cell for each millimetre, counted back from its
front. The tests' own ground, not the library, finds the places where trains may come to rest.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import radians, sin
from typing import Any, NamedTuple

from oracle.ground import Ground, Spot
from oracle.sections import HEADINGS, OTHER

__all__ = ["Back", "Front", "fully_measured", "with_lengths"]

Plan = dict[str, Any]


class Front(NamedTuple):
    """The front of a train at rest: its track, its distance from the up end, and its heading."""

    section: str
    track: str
    at: int
    heading: str


class Back:
    """A plan to place trains on; it skips sections with a missing length."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.ground = Ground(plan)
        self.tracks: dict[str, Any] = plan["tracks"]
        self.heads = set(self.ground.heads)
        """Track, heading and cut of each head that has an effect; None at the end."""

    # ---- where trains come to rest -----------------------------------------------------------

    def fronts(self) -> list[Front]:
        """The fronts of all trains that may come to rest in a section."""
        return [
            self.front(*spot)
            for spot in sorted(self._spots_at_rest())
            if all(p.stop is not None for p in self.ground.sections[spot[0]].pieces)
        ]

    def front(self, name: str, heading: str) -> Front:
        """The front of a train at the end of a section."""
        section = self.ground.sections[name]
        if section.ends:
            piece, own = section.ends[heading]
            cut = piece.cut_at(own)
            length = self.tracks[piece.track]["length_mm"]
            at = cut if cut is not None else length if own == "down" else 0
        else:  # A ring has no end: a train stands anywhere in it.
            piece, own = section.pieces[0], "down"
            at = piece.start
        return Front(name, piece.track, int(at), own)

    def _spots_at_rest(self) -> set[Spot]:
        ground = self.ground
        stands = {(place, h) for place, headings in ground.stands.items() for h in headings}
        waiting = [*stands, *(spot for _, spot in ground.come_on)]
        reached = set(waiting)
        while waiting:
            for spot in self._next(waiting.pop()):
                if spot not in reached:
                    reached.add(spot)
                    waiting.append(spot)
        held = {
            spot
            for spot in reached
            if spot[0] in ground.sections and any(w.head for w in ground.ways_out.get(spot, ()))
        }
        return {spot for spot in stands if spot[0] in ground.sections} | held

    def _next(self, spot: Spot) -> Iterator[Spot]:
        for way in self.ground.ways_out.get(spot, ()):
            if way.head is None:
                yield from (move.to for move in way.moves if not move.derails)
        for route in self.ground.routes_at.get(spot, ()):
            if not route.derails:
                yield route.spots[-1]

    # ---- what a train lies on ----------------------------------------------------------------

    def clear(self, front: Front, length: int) -> bool:
        """Return whether a train of this length is clear behind."""
        covered: set[tuple[str, int]] = set()
        track, at, heading = front.track, front.at, front.heading
        for number in range(length):
            if number and self._cut_at(track, at):
                return False
            if at == self._begins(track, heading):
                end = OTHER[heading]
                if self.tracks[track][end].startswith("edge:"):
                    return True  # the rest of it is outside
                if not self._goes_on((track, end)):
                    return False
                track, came = self.ground.across((track, end))
                heading = came
                at = self._length(track) if came == "down" else 0
            cell = track, at - 1 if heading == "down" else at
            if cell in covered:
                return False  # it lies on itself, round a ring
            covered.add(cell)
            at += -1 if heading == "down" else 1
        behind, leg = self._to_the_leg(track, at, heading)
        return not length or leg is None or behind >= self._foul(leg) - 1e-9

    def _length(self, track: str) -> int:
        return int(self.tracks[track]["length_mm"])

    def _begins(self, track: str, heading: str) -> int:
        return 0 if heading == "down" else self._length(track)

    def _cut_at(self, track: str, at: int) -> bool:
        return any((track, heading, at) in self.heads for heading in HEADINGS)

    def _goes_on(self, end: tuple[str, str]) -> bool:
        """Whether the same section goes on beyond the end of a track."""
        if not self.tracks[end[0]][end[1]].startswith("joint:"):
            return False
        ends = end, self.ground.across(end)
        if any((track, towards, None) in self.heads for track, towards in ends):
            return False
        if any(self.ground.piece_at(each).yard is not None for each in ends):
            return False
        (one, off), (other, back) = ends

        def allows(track: str, heading: str) -> bool:
            return self.tracks[track].get("running", "both") in ("both", heading)

        through = allows(one, off), allows(one, OTHER[off])
        return through == (allows(other, OTHER[back]), allows(other, back))

    # ---- what is foul ------------------------------------------------------------------------

    def _to_the_leg(self, track: str, at: int, heading: str) -> tuple[int, str | None]:
        """Return the distance from the rear of a train back to a leg over joints, and the leg."""
        far, seen = 0, set[str]()
        while True:
            far += abs(at - self._begins(track, heading))
            end = OTHER[heading]
            text = self.tracks[track][end]
            if text == "buffer" or text.startswith("edge:") or text in seen:
                return far, None
            if not text.startswith("joint:"):
                return far, text
            seen.add(text)
            track, heading = self.ground.across((track, end))
            if "length_mm" not in self.tracks[track]:
                return far, None
            at = self._length(track) if heading == "down" else 0

    def _foul(self, leg: str) -> float:
        """Return the distance from the end of a leg at which stock fouls the next track."""
        name, _, own = leg.partition(".")
        element = self.plan.get("points", {}).get(name) or self.plan.get("crossings", {}).get(name)
        if element is None or own == "toe" or "angle_degrees" not in element:
            return 0.0
        along = self.plan["spacing_mm"] / (2 * sin(radians(element["angle_degrees"]) / 2))
        return max(0.0, float(along) - float(element["leg_mm"]))

    def is_limited(self) -> bool:
        """Whether a train as long as all tracks together is foul somewhere."""
        most = sum(int(track.get("length_mm", 0)) for track in self.tracks.values()) + 1
        return not all(self.clear(front, most) for front in self.fronts())


def with_lengths(rng: Any, plan: Plan) -> Plan:
    """Give every track of a plan a length in whole millimetres, beyond its signals."""
    for name, track in plan["tracks"].items():
        spots = [
            each["at_mm"]
            for signal in plan["signals"].values()
            for each in (signal, *signal["arms"])
            if each.get("track", signal["track"]) == name and "at_mm" in each
        ]
        if "length_mm" not in track:
            track["length_mm"] = int(max(spots, default=0)) + rng.randrange(20, 900)
    return plan


def fully_measured(rng: Any, plan: Plan) -> Plan:
    """Give every leg of points and crossings an angle and a length; no two angles are alike."""
    plan["spacing_mm"] = rng.choice((30, 46, 52.5))
    elements = [*plan.get("points", {}).values(), *plan.get("crossings", {}).values()]
    for number, element in enumerate(elements):
        element["angle_degrees"] = rng.choice((4, 7, 12, 20)) + 0.1 * number
        element["leg_mm"] = rng.choice((0.5, 90, 160, 240))
    return plan
