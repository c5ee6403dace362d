"""What a signalman does with his hands: one thing at a time."""

from __future__ import annotations

from typing import Any, Literal, NamedTuple


class LeverWork(NamedTuple):
    """One thing that is done: points set, arms taken off or put on, by a lever or by hand."""

    do: Literal["set", "off", "on"]
    names: tuple[str, ...]
    """The points and slips that move (worked together, they move at once), or the arms."""
    lies: tuple[str, ...] = ()
    """How each of the points then lies."""
    words: tuple[str, ...] = ()
    """The same as ``normal`` or ``reverse``."""
    locks: tuple[str, ...] = ()
    """Those of the points that have a facing-point lock."""
    lever: str | None = None
    """The lever that does it; None if none does."""
    pull: bool = True
    """True if the lever is pulled over, False if it is put back."""
    refused: str = ""
    """Why the frame does not allow it; nothing where it does, or where no lever does it."""

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        row: dict[str, Any] = {"do": self.do}
        if self.do == "set":
            row["points"] = dict(zip(self.names, self.lies, strict=True))
        else:
            row["arms"] = list(self.names)
        if self.lever is not None:
            row |= {"lever": self.lever, "pull": self.pull}
        if self.refused:
            row["refused"] = self.refused
        return row
