"""The ways by which trains from an arm come to a track, as far as the next signal."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from trappoint.model.layout import HEADINGS, cut_at

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.model.layout import Arm, Heading, Layout, Points

State = tuple[str, "Heading"]
"""A track, and the heading of a train on it."""


class Ways:
    """The ways of trains through a plan."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self._ends: dict[str, list[tuple[str, Heading]]] = {}
        """For each leg and joint the track ends that meet it."""
        for track in layout.tracks.values():
            self._ends.setdefault(track.up.text, []).append((track.id, "up"))
            self._ends.setdefault(track.down.text, []).append((track.id, "down"))

    @cached_property
    def _held(self) -> set[State]:
        """The tracks, each with the heading of trains that a stop signal on it holds."""
        return {(head.track, head.heading) for head in self.layout.holding_heads() if head.stops}

    def headings(self, arm: Arm, track: str) -> set[Heading]:
        """Return the headings with which trains from an arm run over a track.

        Trains run as far as the next track that ends at a stop signal for them.
        """
        found: set[Heading] = set()
        if arm.track not in self.layout.tracks:
            return found
        if arm.track == track and self._cuts(arm):
            found.add(arm.heading)
        todo = list(self.onward((arm.track, arm.heading)))
        seen = set(todo)
        while todo:
            state = todo.pop()
            if state[0] == track:
                found.add(state[1])
            if state not in self._held:
                more = [each for each in self.onward(state) if each not in seen]
                seen.update(more)
                todo += more
        return found

    def _cuts(self, arm: Arm) -> bool:
        track = self.layout.tracks[arm.track]
        heads = (h for h in self.layout.signals[arm.signal].heads if arm in h.arms)
        return any(cut_at(head, track) >= 0 for head in heads)

    def onward(self, state: State) -> Iterator[State]:
        """Yield the tracks on which a train may run on from the end of one, with its heading."""
        here = self.layout.tracks[state[0]].end(state[1])
        if here.kind == "joint":
            yield from self._entered(here.text, state)
        element = self.layout.element(here)
        if element is None:
            return
        kind, thing = element
        if kind == "points":
            legs = _over_points(thing, here.leg)  # type: ignore[arg-type]  # the kind says so
        elif kind == "crossings":
            legs = [leg for leg, _ in thing.exits(here.leg)]  # type: ignore[union-attr]  # a crossing
        else:
            legs = list(thing.legs)
        for leg in legs:
            yield from self._entered(f"{here.name}.{leg}", state)

    def senses(self, track: str) -> dict[str, bool]:
        """Return for each track joined to one whether down is the same way there."""
        found = {track: True}
        todo = [track]
        while todo:
            one = todo.pop()
            for heading in HEADINGS:
                for other, onward in self.onward((one, heading)):
                    if other not in found:
                        found[other] = found[one] == (heading == onward)
                        todo.append(other)
        return found

    def _entered(self, end: str, came: State) -> Iterator[State]:
        for track, at in self._ends.get(end, ()):
            if (track, at) != came:
                yield track, "down" if at == "up" else "up"


def _over_points(points: Points, leg: str) -> list[str]:
    return [each for each in points.legs if each != "toe"] if leg == "toe" else ["toe"]
