"""Free runs: where a train that sets off from a stand can come to with no stop signal to hold it.

Lies are of no account here: between two moves the points may be moved.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.network import Network


MOST_STATES = 600_000
"""The states of all free runs of a plan together, after which they are cut short."""

MOST_WHEN_CUT = 8
"""The states of a free run that is cut short."""


class FreeRun(NamedTuple):
    """The free run of one stand in one heading."""

    stand: int
    start: int
    """The state in which the train sets off."""
    came_from: Mapping[int, int]
    """From each state reached to the one before it, nearest states first; the start leads to -1."""
    reached: Mapping[int, int]
    """From each place reached, the stand's own left out, to the nearest state in it."""
    cut: bool = False
    """True where it goes on, but was not followed: the free runs of the plan are too long."""

    def path_to(self, state: int) -> list[int]:
        """Return the states from the start (left out) to this one."""
        path: list[int] = []
        while state != self.start:
            path.append(state)
            state = self.came_from[state]
        return path[::-1]


def derive_free_runs(network: Network) -> list[FreeRun]:
    """Derive the free run of every stand in every heading that its track allows."""
    found: list[FreeRun] = []
    room = MOST_STATES
    for number, stand in enumerate(network.stands):
        for start in stand.states:
            found.append(_run_free(network, number, start, max(room, MOST_WHEN_CUT)))
            room -= len(found[-1].came_from)
    return found


def _run_free(network: Network, stand: int, start: int, most: int) -> FreeRun:
    came_from = {start: -1}
    reached: dict[int, int] = {}
    own = network.place_of[start]
    queue = [start]
    for state in queue:
        if len(queue) > most:
            return FreeRun(stand, start, came_from, reached, cut=True)
        for exit_ in network.exits[state]:
            if exit_.head < 0 and exit_.to not in came_from:
                came_from[exit_.to] = state
                place = network.place_of[exit_.to]
                if place != own:
                    reached.setdefault(place, exit_.to)
                queue.append(exit_.to)
    return FreeRun(stand, start, came_from, reached)
