"""The single works of a signalman, by lever or by hand."""

from __future__ import annotations

from typing import Any, Literal, NamedTuple


class LeverWork(NamedTuple):
    """One work: set points, take arms off, or put arms to danger; by a lever or by hand."""

    do: Literal["set", "off", "on"]
    names: tuple[str, ...]
    """The points and slips that move together, or the arms."""
    lies: tuple[str, ...] = ()
    """The new lie of each of the points."""
    words: tuple[str, ...] = ()
    """The same lies as ``normal`` or ``reverse``."""
    locks: tuple[str, ...] = ()
    """The points among them that have a facing-point lock."""
    lever: str | None = None
    """The number of the lever; None for work by hand."""
    pull: bool = True
    """True if the lever is pulled over, False if it is put back."""
    refused: str = ""
    """Why the frame does not allow it; empty if it does, or for work by hand."""

    def to_json(self) -> dict[str, Any]:
        """Return the work as JSON values."""
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
