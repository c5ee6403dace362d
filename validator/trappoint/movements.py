"""Movements: who stands where, which arm is off for whom, and where two trains meet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.network import Network
    from trappoint.routes import Route

Letter = Literal["A", "B"]


class Step(NamedTuple):
    """One thing that one of the two trains does."""

    train: Letter
    do: Literal["set-off", "take", "run"]
    heading: str | None = None
    """For ``set-off``: the heading taken; None in a yard."""
    signal: str | None = None
    over: tuple[str, ...] = ()
    """For ``take``: the places of the route, in order."""
    to: str | None = None
    """For ``run``: the place come to."""

    def to_json(self) -> dict[str, Any]:
        """Return the step as plain values, with the keys that its kind has."""
        if self.do == "set-off":
            return {"train": self.train, "do": self.do, "heading": self.heading}
        if self.do == "take":
            return {
                "train": self.train,
                "do": self.do,
                "signal": self.signal,
                "over": list(self.over),
            }
        return {"train": self.train, "do": self.do, "to": self.to}


class Movement(NamedTuple):
    """How two trains come to be in one place, step by step, from two stands."""

    starts: tuple[str, str]
    """The places in which train A and train B stand at first."""
    steps: tuple[Step, ...]

    def to_json(self) -> dict[str, Any]:
        """Return the movement as plain values."""
        return {
            "starts": {"A": self.starts[0], "B": self.starts[1]},
            "steps": [step.to_json() for step in self.steps],
        }

    @property
    def meets_at(self) -> str:
        """The place in which the two trains meet."""
        return self.steps[-1].to or ""


class Script:
    """Writes down a movement while it is played, and ends it where the two trains meet.

    It stops at the first meeting, so that what it yields replays as it stands.
    """

    def __init__(self, network: Network, start_a: int, start_b: int) -> None:
        self.network = network
        self.at: dict[Letter, int] = {"A": start_a, "B": start_b}
        self.starts = (network.places[start_a].name, network.places[start_b].name)
        self.steps: list[Step] = []
        self.met = False

    def set_off(self, train: Letter, state: int) -> None:
        """Let a train in a stand take the heading of this state of its place."""
        if not self.met:
            way = self.network.way[state]
            self.steps.append(Step(train, "set-off", heading=way or None))

    def run(self, train: Letter, states: Iterable[int]) -> None:
        """Let a train run through these states."""
        for state in states:
            if self.met:
                return
            place = self.network.place_of[state]
            self.steps.append(Step(train, "run", to=self.network.places[place].name))
            self.at[train] = place
            self.met = self.at["A"] == self.at["B"]

    def take(self, train: Letter, route: Route) -> None:
        """Let a train take a route whole."""
        if not self.met:
            names = tuple(self.network.place(state).name for state in route.path)
            signal = self.network.heads[route.head].signal
            self.steps.append(Step(train, "take", signal=signal, over=names))

    def movement(self) -> Movement | None:
        """Return the movement, None where the two trains have not met."""
        return Movement(self.starts, tuple(self.steps)) if self.met else None
