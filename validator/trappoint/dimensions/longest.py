"""The longest train for which the verdict is right.

A train comes to rest in a stand, or at a head that faces it. Its front is then at the end of its
section. Its rear must be inside the section, clear of the fouling place behind it; a train that
runs in from an edge may reach beyond the edge. ``schema/README.md`` defines this under "Lengths".
"""

from __future__ import annotations

from math import floor, isfinite
from typing import TYPE_CHECKING, NamedTuple

from trappoint.dimensions.borders import Borders, about, place_length

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.interlocking.routes import Routes
    from trappoint.topology.network import Network

UNSEEN_MM = 1e-6
"""Differences below this, in mm, are rounding errors."""


class Behind(NamedTuple):
    """The room of a train at rest in a section, from its front to its limit behind."""

    at_most_mm: float
    """A longer train is not clear behind."""
    surely_mm: float
    """A train of this length is clear; the whole section if no fouling place is known."""


class RestingPlace(NamedTuple):
    """A place and a heading in which a train may come to rest."""

    state: int
    place: str
    """The name of the section."""
    track: str
    behind: Behind


class Longest(NamedTuple):
    """The longest train for which the verdict is right."""

    mm: int
    place: str
    """The section that limits it."""


class Rests:
    """The room of trains at rest, by the state of a section."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.borders = Borders(network)
        self.known: dict[int, Behind | None] = {}

    def behind(self, state: int) -> Behind | None:
        """Return the room in a state; None if nothing limits it, or a length is missing."""
        if state not in self.known:
            self.known[state] = self._behind(state)
        return self.known[state]

    def _behind(self, state: int) -> Behind | None:
        network = self.network
        if network.heading(state) is None:
            return None
        length = place_length(network, network.place_of[state])
        rear = self.borders.at(about(network, state))
        if length is None or not isfinite(length) or rear.kind == "edge":
            return None
        keep = self.borders.keep(rear)
        surely = keep.most if isfinite(keep.most) else keep.least
        return Behind(max(0.0, length - keep.least), max(0.0, length - surely))


def derive_rests(network: Network, routes: Routes) -> list[RestingPlace]:
    """Return each place and heading in which a train may come to rest, with a known room."""
    rests = Rests(network)
    found = []
    for state in sorted(states_at_rest(network, routes)):
        behind = rests.behind(state)
        if behind is not None:
            place = network.place(state)
            found.append(RestingPlace(state, place.name, place.id, behind))
    return found


def longest_train(rests: Iterable[RestingPlace]) -> Longest | None:
    """Return the longest train that is clear behind at each of these places.

    The length is rounded down to the millimetre. None if no length is known.
    """
    least = min(rests, key=lambda rest: rest.behind.surely_mm, default=None)
    if least is None:
        return None
    return Longest(floor(least.behind.surely_mm + UNSEEN_MM), least.place)


def states_at_rest(network: Network, routes: Routes) -> set[int]:
    """Return the states of sections in which a train may come to rest.

    These are the stands, in each heading, and the ends of sections at heads that a train reaches
    freely, over points in any lie, or by a route.
    """
    waiting = [state for stand in network.stands for state in stand.states]
    waiting += [entry.state for entry in network.entries]
    reached = set(waiting)
    while waiting:
        for state in _onward(network, routes, waiting.pop()):
            if state not in reached:
                reached.add(state)
                waiting.append(state)
    return {state for state in reached if _rests(network, state)}


def _onward(network: Network, routes: Routes, state: int) -> Iterator[int]:
    for exit_ in network.exits[state]:
        if exit_.head < 0:
            yield exit_.to
        else:
            for number in routes.of_head[exit_.head]:
                yield routes.all[number].path[-1]


def _rests(network: Network, state: int) -> bool:
    place = network.place_of[state]
    described = network.places[place]
    if described.kind != "section" or described.elsewhere or place in network.drags:
        return False
    stand = network.stand_at.get(place)
    stands = stand is not None and state in network.stands[stand].states
    return stands or network.facing[state] >= 0
