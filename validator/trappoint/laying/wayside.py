"""Where things stand along the diagram, from the up end to the down end."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.model.layout import Arm, End, Layout


class Along(NamedTuple):
    """The order of the things of a plan along the line."""

    layout: Layout
    rank: Mapping[str, int]
    """The place of each track in the order; tracks abreast of each other have the same."""

    def arm(self, arm: Arm) -> tuple[float, float]:
        """Return the place of an arm: that of its track, and the part of it before the arm."""
        track = self.layout.tracks[arm.track]
        if arm.at_mm is None:
            part = 1.0 if arm.heading == "down" else 0.0
        else:
            part = min(arm.at_mm / track.length_mm, 1.0) if track.length_mm else 0.5
        return self.rank[arm.track], part

    def element(self, key: str) -> float:
        """Return the place of points or another element: after the tracks that lead to it."""
        before = [
            self.rank[track.id] for track in self.layout.tracks.values() if track.down.name == key
        ]
        after = [
            self.rank[track.id] for track in self.layout.tracks.values() if track.up.name == key
        ]
        return max(before) + 0.5 if before else min(after, default=0) - 0.5


def places_along(layout: Layout) -> Along:
    """Return the order of the things of a plan along the line.

    A track comes after all that lead to it. What begins at a buffer comes right before that to
    which it leads.
    """
    onward = _onward(layout)
    order = _in_order(layout, onward)
    rank = dict.fromkeys(order, 0)
    seen: set[str] = set()
    for track in order:
        seen.add(track)
        for after in onward[track]:
            if after not in seen:
                rank[after] = max(rank[after], rank[track] + 1)
    anchored = _reached(layout, onward)
    for track in reversed(order):
        later = [rank[after] for after in onward[track] if rank[after] > rank[track]]
        if track not in anchored and later:
            rank[track] = min(later) - 1
    return Along(layout, rank)


def _onward(layout: Layout) -> dict[str, list[str]]:
    """Return for each track those that begin where it ends."""
    begins: dict[tuple[str, str], list[str]] = {}
    for track in layout.tracks.values():
        begins.setdefault(_meeting(track.up), []).append(track.id)
    return {
        track.id: [
            other
            for other in begins.get(_meeting(track.down), ())
            if other != track.id and track.down.kind in ("leg", "joint")
        ]
        for track in layout.tracks.values()
    }


def _meeting(end: End) -> tuple[str, str]:
    return end.kind, end.name


def _in_order(layout: Layout, onward: Mapping[str, list[str]]) -> list[str]:
    """Return the tracks, each before those to which it leads, as far as there is no circle."""
    led_to = {after for some in onward.values() for after in some}
    starts = sorted(layout.tracks, key=lambda key: (key in led_to, not _from_edge(layout, key)))
    done: set[str] = set()
    found: list[str] = []
    for start in starts:
        if start in done:
            continue
        done.add(start)
        stack: list[tuple[str, Iterator[str]]] = [(start, iter(onward[start]))]
        while stack:
            track, rest = stack[-1]
            after = next((each for each in rest if each not in done), None)
            if after is None:
                found.append(track)
                stack.pop()
            else:
                done.add(after)
                stack.append((after, iter(onward[after])))
    return found[::-1]


def _from_edge(layout: Layout, key: str) -> bool:
    return layout.tracks[key].up.kind == "edge"


def _reached(layout: Layout, onward: Mapping[str, list[str]]) -> set[str]:
    """Return the tracks to which a line from an edge leads; without edges, the first track."""
    todo = [key for key in layout.tracks if _from_edge(layout, key)] or list(layout.tracks)[:1]
    found = set(todo)
    while todo:
        more = [after for after in onward[todo.pop()] if after not in found]
        found.update(more)
        todo += more
    return found
