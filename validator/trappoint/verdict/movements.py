"""Movements: where two trains stand, what each does, and where they meet."""

from __future__ import annotations

from typing import Any, Literal, NamedTuple

Letter = Literal["A", "B"]


class Step(NamedTuple):
    """One step of one of the two trains."""

    train: Letter
    do: Literal["come-on", "leave", "set-off", "take", "run"]
    edge: str | None = None
    """For ``come-on``: the edge at which it comes on."""
    heading: str | None = None
    """For ``set-off``: the heading taken; None in a yard."""
    signal: str | None = None
    over: tuple[str, ...] = ()
    """For ``take``: the places of the route, in order."""
    to: str | None = None
    """For ``run`` and ``come-on``: the place that the train enters."""

    def to_json(self) -> dict[str, Any]:
        """Return the step as plain values, with only the keys of its kind."""
        values: dict[str, Any] = {"train": self.train, "do": self.do}
        if self.do == "come-on":
            values |= {"edge": self.edge, "to": self.to}
        elif self.do == "set-off":
            values["heading"] = self.heading
        elif self.do == "take":
            values |= {"signal": self.signal, "over": list(self.over)}
        elif self.do == "run":
            values["to"] = self.to
        return values


class Movement(NamedTuple):
    """The steps by which two trains come to be in one place."""

    starts: tuple[str | None, str | None]
    """The stands of train A and train B at first, None for a train outside the plan."""
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
