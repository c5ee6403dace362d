"""A recorder of movements: it turns the states of two trains into steps by name."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.verdict.movements import Movement, Step

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.interlocking.routes import Route
    from trappoint.topology.network import Network
    from trappoint.verdict.movements import Letter

OUTSIDE = -1
"""The place of a train outside the plan, instead of a number."""


class Script:
    """Records a movement up to the place where the two trains first meet.

    It ignores every step after that, so the recorded movement replays.
    """

    def __init__(self, network: Network, start_a: int, start_b: int) -> None:
        self.network = network
        self.at: dict[Letter, int] = {"A": start_a, "B": start_b}
        self.starts = self._name(start_a), self._name(start_b)
        self.steps: list[Step] = []
        self.met = False

    def _name(self, place: int) -> str | None:
        return None if place == OUTSIDE else self.network.places[place].name

    def come_on(self, train: Letter, entry: int) -> None:
        """Let a train from outside come on at an edge."""
        edge, state = self.network.entries[entry]
        if not self.met:
            place = self.network.place_of[state]
            self.steps.append(Step(train, "come-on", edge=edge, to=self._name(place)))
            self._arrive(train, place)

    def leave(self, train: Letter) -> None:
        """Let a train leave the plan at an edge."""
        if not self.met:
            self.steps.append(Step(train, "leave"))
            self.at[train] = OUTSIDE

    def set_off(self, train: Letter, state: int) -> None:
        """Let a train in a stand set off in the heading of a state of its place."""
        if not self.met:
            way = self.network.way[state]
            self.steps.append(Step(train, "set-off", heading=way or None))

    def run(self, train: Letter, states: Iterable[int]) -> None:
        """Let a train run through these states."""
        for state in states:
            if self.met:
                return
            place = self.network.place_of[state]
            self.steps.append(Step(train, "run", to=self._name(place)))
            self._arrive(train, place)

    def take(self, train: Letter, route: Route) -> None:
        """Promise a route to a train."""
        if not self.met:
            names = tuple(self.network.place(state).name for state in route.path)
            signal = self.network.heads[route.head].signal
            self.steps.append(Step(train, "take", signal=signal, over=names))

    def _arrive(self, train: Letter, place: int) -> None:
        self.at[train] = place
        self.met = self.at["A"] == self.at["B"]

    def movement(self) -> Movement | None:
        """Return the movement, None if the two trains have not met."""
        return Movement(self.starts, tuple(self.steps)) if self.met else None
