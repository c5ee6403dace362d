"""A simulator of the lever frame: may a lever move now, and if not, which entry prevents it?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from trappoint.lever_frame.frame import LockingEntry

Status = Literal["free", "locked", "back-locked"]


@dataclass(frozen=True, slots=True)
class Answer:
    """Whether a lever may be moved."""

    lever: str
    status: Status
    """``locked``: normal and cannot be pulled; ``back-locked``: reversed and cannot be put back."""
    because: tuple[LockingEntry, ...] = ()
    """The entries that prevent it; empty if the lever is free."""
    text: str = ""
    """The answer as a sentence."""

    @property
    def free(self) -> bool:
        """True if the lever may be moved."""
        return self.status == "free"


class FrameSimulator:
    """A frame that is worked lever by lever under its locking.

    A *state* is the set of the numbers of the reversed levers. A lever may be moved if no entry
    holds it and the next state breaks no entry.
    """

    def __init__(self, levers: Iterable[str], entries: Iterable[LockingEntry]) -> None:
        """Take the numbers of the levers, and entries, which may be written by hand.

        Raises ``ValueError`` if an entry names an unknown lever.
        """
        self.levers = tuple(levers)
        self.entries = tuple(entries)
        self._numbers = frozenset(self.levers)
        for entry in self.entries:
            for lever in entry.levers:
                self._check(lever)

    def _check(self, lever: str) -> None:
        if lever not in self._numbers:
            raise ValueError(f"there is no lever {lever} in this frame")

    def legal(self, state: Collection[str]) -> bool:
        """Return whether a state breaks no entry."""
        return not any(entry.broken_by(state) for entry in self.entries)

    def may_move(self, state: Collection[str], lever: str) -> Answer:
        """Return whether a lever may be moved from its position in this state.

        Raises ``ValueError`` for an unknown lever or a state that is not legal.
        """
        self._check(lever)
        for other in state:
            self._check(other)
        if not self.legal(state):
            raise ValueError("the locking does not allow this state")
        after = set(state) ^ {lever}
        because = tuple(
            entry
            for entry in self.entries
            if lever in entry.held_in(state) or entry.broken_by(after)
        )
        if not because:
            verb = "put back" if lever in state else "pulled"
            return Answer(lever, "free", (), f"{lever} can be {verb}.")
        if lever in state:
            text = f"{lever} is back-locked: {_told(because, lever, state)}."
            return Answer(lever, "back-locked", because, text)
        return Answer(
            lever, "locked", because, f"{lever} is locked: {_told(because, lever, state)}."
        )


def _told(because: tuple[LockingEntry, ...], lever: str, state: Collection[str]) -> str:
    told = []
    for entry in because:
        positions = [
            f"{other} is {'reversed' if other in state else 'normal'}"
            for other in dict.fromkeys(entry.levers)
            if other != lever
        ]
        told.append(f"{entry.text} ({', '.join(positions)})" if positions else entry.text)
    return "; ".join(told)
