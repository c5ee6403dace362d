"""Movements: who stands where, which arm is off for whom, and where two trains meet."""

from __future__ import annotations

from typing import Any, Literal, NamedTuple

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
