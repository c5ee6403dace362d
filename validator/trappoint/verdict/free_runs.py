"""Free runs: the places that a train can reach with no signal to hold it.

The train sets off from a stand, or comes on at an edge. Points may move between two of its moves,
with two exceptions: points that the other train holds (see ``FreeMoves``), and trap points that
guard (see ``guards``), which lie normal, as does everything worked with them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from trappoint.interlocking.routes import LeverGroups
    from trappoint.topology.network import Exit, Network


MAX_STATES = 600_000
"""The most states of all free runs of a plan together; later runs are cut short."""

MAX_WHEN_CUT = 8
"""The most states of a free run that is cut short."""

NOTHING: Mapping[int, str] = {}
"""The points held by a train that has no promise and is on no points: none."""


class FreeRun(NamedTuple):
    """The free run from one stand in one heading, or from one edge."""

    stand: int
    """The number of the stand, -1 for an edge that is no stand."""
    entry: int
    """The edge at which trains come on in this state, -1 if none do."""
    start: int
    """The state in which the train sets off."""
    came_from: Mapping[int, int]
    """For each state reached the state before it, nearest first; -1 for the start."""
    reached: Mapping[int, int]
    """For each place reached, except that of the start, the nearest state in it."""
    cut: bool = False
    """True if it is cut short because the free runs of the plan are too long."""

    def path_to(self, state: int) -> list[int]:
        """Return the states from the start, which is left out, to this state."""
        return path_back(self.came_from, state)


def path_back(came_from: Mapping[int, int], state: int) -> list[int]:
    """Return the states on the way to a state, without the first."""
    path: list[int] = []
    while (before := came_from[state]) >= 0:
        path.append(state)
        state = before
    return path[::-1]


class FreeMoves:
    """The single moves of a train without a promise, which pass no head.

    ``guards``: the levers of the trap groups that lie normal for it if it meets them facing.
    ``held``, in the methods: the lies that the other train holds, by its promise and under itself.
    """

    def __init__(self, network: Network, together: LeverGroups, guards: Mapping[int, str]) -> None:
        self.network = network
        self.together = together
        self.guards = guards

    def lets(self, exit_: Exit, held: Mapping[int, str]) -> bool:
        """Return whether the points can lie for this move."""
        if exit_.element < 0:
            return True
        lever = self.together.lever_of[exit_.element]
        word = self.together.word(exit_.element, exit_.lie)
        if exit_.facing and self.guards.get(lever, word) != word:
            return False
        return held.get(lever, word) == word

    def onward(self, state: int, held: Mapping[int, str]) -> Iterator[int]:
        """Yield the next states; an element only if the train can run on from it.

        A move into a drag is left out, because there the train is out of the game.
        """
        network = self.network
        for exit_ in network.exits[state]:
            if exit_.head >= 0 or not self.lets(exit_, held):
                continue
            to = exit_.to
            if network.place_of[to] in network.drags:
                continue
            ways = network.exits[to] if network.is_element[network.place_of[to]] else ()
            if not ways or any(self.lets(way, held) for way in ways):
                yield to

    def run(
        self, starts: Iterable[int], held: Mapping[int, str], most: int | None = None
    ) -> dict[int, int]:
        """Return all states that a train can freely reach, nearest first.

        Each maps to the state before it, a start to -1. The search ends after ``most`` states.
        """
        came_from = dict.fromkeys(starts, -1)
        queue = list(came_from)
        for state in queue:
            if most is not None and len(queue) > most:
                break
            for to in self.onward(state, held):
                if to not in came_from:
                    came_from[to] = state
                    queue.append(to)
        return came_from


def derive_free_runs(moves: FreeMoves) -> list[FreeRun]:
    """Derive the free run of every stand in every heading, and of every edge."""
    network = moves.network
    entries = {entry.state: number for number, entry in enumerate(network.entries)}
    sources = [(n, entries.pop(s, -1), s) for n, stand in enumerate(network.stands)
               for s in stand.states]  # fmt: skip
    sources += [(-1, number, state) for state, number in entries.items()]
    found: list[FreeRun] = []
    room = MAX_STATES
    for stand, entry, start in sources:
        found.append(_run_free(moves, stand, entry, start, max(room, MAX_WHEN_CUT)))
        room -= len(found[-1].came_from)
    return found


def _run_free(moves: FreeMoves, stand: int, entry: int, start: int, most: int) -> FreeRun:
    network = moves.network
    came_from = moves.run((start,), NOTHING, most)
    own = network.place_of[start]
    reached: dict[int, int] = {}
    for state in came_from:
        place = network.place_of[state]
        if place != own:
            reached.setdefault(place, state)
    return FreeRun(stand, entry, start, came_from, reached, len(came_from) > most)
