"""Needs of every plan that holds: exits that a signal must close.

A train from elsewhere reaches a place by routes from signal to signal, or freely if there are no
signals: it arrives in any case. So on the way from a stand, a signal must hold a train before it
reaches a place that another train passes, if the points can lie for both.
"""

from __future__ import annotations

from collections import deque
from heapq import heappop, heappush
from typing import TYPE_CHECKING

from trappoint.proposing.choice import Walk
from trappoint.proposing.need import NONE, Need
from trappoint.proposing.splitting import SplitWay, come_to_end

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.proposing.finest_plan import Finest, TrainSource

MAX_LOOKS = 400
"""The greatest number of states of one search for the origin of a train."""

MAX_ENDS = 8
"""The greatest number of origins to try."""

MAX_WAYS = 300
"""The greatest number of states of one search from an exit."""

Lies = frozenset[tuple[int, str]]


def always(finest: Finest) -> list[Need]:
    """Return a need for each exit that every plan must close: one of the posts that close it."""
    passing = _Passing(finest)
    found: dict[Need, None] = {}
    for source in finest.sources:
        found.update(dict.fromkeys(_of_source(finest, passing, source)))
    return list(found)


def _of_source(finest: Finest, passing: _Passing, source: TrainSource) -> Iterator[Need]:
    """Follow a train from its start by the fewest posts, as far as no other can meet it."""
    net = finest.net
    own = net.place_of[source.state]
    heading = f" {net.way[source.state]}" if net.way[source.state] else ""
    heap = [(0, 0, Walk(source.state, source.state, NONE, frozenset()))]
    done: set[int] = set()
    count = 0
    while heap and len(done) < MAX_WAYS:
        _, _, walk = heappop(heap)
        if walk.state in done:
            continue
        done.add(walk.state)
        place = net.place_of[walk.state]
        if place != own and _is_met(finest, passing, source, walk):
            where = f"{net.places[own].name}{heading} > {net.places[place].name}"
            yield Need(walk.missing, NONE, where)
            continue
        for move in finest.open_moves(walk.state, {}):
            if move.to not in done and all(finest.ground.posts[n].free for n in move.posts):
                count += 1
                onward = walk.onward(move)
                heappush(heap, (len(onward.missing), count, onward))


def _is_met(finest: Finest, passing: _Passing, source: TrainSource, walk: Walk) -> bool:
    """Return whether another train can be at a place in a train's free run."""
    net = finest.net
    own, place = net.place_of[source.state], net.place_of[walk.state]
    home, here = finest.region(own), finest.region(place)
    if home == here:
        return False  # Some choices do not tell them apart.
    if source.edge or place in finest.begins:
        return True
    if net.is_element[place]:
        # It comes on to points only if they may lie for its way through.
        ways = [walk.onward(move) for move in finest.open_moves(walk.state, {})]
        return any(passing.can(place, home, home, way.lies) for way in ways)
    return passing.can(place, home, home, walk.lies) or passing.can(own, here, home, frozenset())


class _Passing:
    """The places that trains pass under every choice of posts."""

    def __init__(self, finest: Finest) -> None:
        self.finest = finest
        self._known: dict[tuple[int, int, int, Lies], bool] = {}

    def can(self, place: int, avoid: int, start: int, lies: Lies) -> bool:
        """Return whether a train can reach a place, and can have a route onwards from it.

        It begins outside the region ``start``, never comes into the region ``avoid``, and all its
        points may lie as ``lies`` says.
        """
        key = place, avoid, start, lies
        if key not in self._known:
            must = dict(lies)
            agree = len(must) == len(lies)
            states = self.finest.net.states_of[place]
            self._known[key] = agree and any(
                self._passes(state, avoid, start, must) for state in states
            )
        return self._known[key]

    def _passes(self, state: int, avoid: int, start: int, must: Mapping[int, str]) -> bool:
        finest = self.finest
        place_of = finest.net.place_of
        onward: dict[int, tuple[int, int, str] | None] = {state: None}
        queue = deque([state])
        tried = 0
        while queue and len(onward) < MAX_LOOKS and tried < MAX_ENDS:
            at = queue.popleft()
            if at in finest.source_states and finest.region(place_of[at]) != start:
                tried += 1
                if self._goes_on(onward, at, avoid, must):
                    return True
            for earlier, lever, word in finest.before[at]:
                if must.get(lever, word) != word or earlier in onward:
                    continue
                if finest.region(place_of[earlier]) != avoid:
                    onward[earlier] = at, lever, word
                    queue.append(earlier)
        return False

    def _goes_on(
        self,
        onward: Mapping[int, tuple[int, int, str] | None],
        state: int,
        avoid: int,
        must: Mapping[int, str],
    ) -> bool:
        needs, path = dict(must), {state}
        while (step := onward[state]) is not None:
            state, lever, word = step
            path.add(state)
            if lever >= 0 and needs.setdefault(lever, word) != word:
                return False
        places = self.finest.places_in((avoid,))
        return come_to_end(self.finest, SplitWay(state, frozenset(path), needs, NONE), -1, places)
