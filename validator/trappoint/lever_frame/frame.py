"""The lever frame: its levers, and the locking between them in the words of the trade.

A normal lever is in its usual position (signals on, points in their usual lie); a reversed lever is
pulled. The entries read as on a locking sheet:

- ``1 released by 4``: 4 must be reversed before 1 can be; then 4 is back-locked until 1 is normal;
- ``9 released by 7 or 8``: either lever releases it; also ``2 released by 3 or 1 normal``;
- ``3 locks 5``: with one of the two reversed, the other is locked normal;
- ``8 locks 9 both ways``: while 8 is reversed, 9 stays as it is;
- ``1 released by 3 when 2 normal``: a conditional release. While 1 is reversed it holds both 2
  and 3 as they are;
- ``3 locks 8 when 5 reversed``: the three are never all reversed; nothing more is held;
- ``4 stays normal``: it can never be reversed.

Locks and releases work in both directions: no lever may make a move that breaks an entry. Source of
these words, and of the holds of a conditional release: Indian Railways, Signal Engineering Manual,
chapter 12, p. 267 (test of conditional locking).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from trappoint.core.quoting import listed

if TYPE_CHECKING:
    from collections.abc import Collection


Position = Literal["normal", "reversed"]
Relation = Literal["released by", "locks", "locks both ways", "stays normal"]
Works = Literal["points", "stop", "distant", "calling-on", "shunt", "arms", "nothing"]

COLOURS: dict[Works, str] = {
    "points": "black",
    "stop": "red",
    "distant": "yellow",
    "calling-on": "red",
    "shunt": "red",
    "arms": "red",
    "nothing": "white",
}
"""The colours of levers (British; common practice, no source): red for stop and shunt signals,
yellow for distants, black for points, white for spare levers."""


@dataclass(frozen=True, slots=True)
class Term:
    """A lever in one of its two positions."""

    lever: str
    position: Position = "reversed"

    def met(self, reversed_levers: Collection[str]) -> bool:
        """Return whether the lever is in this position."""
        return (self.lever in reversed_levers) is (self.position == "reversed")


@dataclass(frozen=True, slots=True)
class LockingEntry:
    """One entry of the locking; its condition (``when``) is met if all its terms are met."""

    lever: str
    relation: Relation
    others: tuple[Term, ...] = ()
    """Released by: any one of these. Locks: the levers that it locks normal, or both ways."""
    when: tuple[Term, ...] = ()

    @property
    def levers(self) -> tuple[str, ...]:
        """All levers of the entry, its own first."""
        return (self.lever, *(term.lever for term in (*self.others, *self.when)))

    @property
    def text(self) -> str:
        """The entry in words, as on a locking sheet."""
        return f"{self.lever} {self.words}"

    @property
    def words(self) -> str:
        """The entry in words, without its own lever."""
        if self.relation == "stays normal":
            return "stays normal"
        if self.relation == "released by":
            names = [
                term.lever if term.position == "reversed" else f"{term.lever} normal"
                for term in self.others
            ]
            told = f"released by {listed(names, 'or')}"
        else:
            told = f"locks {listed([term.lever for term in self.others], 'and')}"
            told += " both ways" if self.relation == "locks both ways" else ""
        return f"{told} when {_positions(self.when)}" if self.when else told

    def broken_by(self, reversed_levers: Collection[str]) -> bool:
        """Return whether a state breaks the entry."""
        if self.lever not in reversed_levers or self.relation == "locks both ways":
            return False
        if not all(term.met(reversed_levers) for term in self.when):
            return False
        if self.relation == "locks":
            return any(term.lever in reversed_levers for term in self.others)
        return not any(term.met(reversed_levers) for term in self.others)

    def held_in(self, reversed_levers: Collection[str]) -> tuple[str, ...]:
        """Return the levers that the entry holds in this state, normal or reversed."""
        if self.lever not in reversed_levers:
            return ()
        if self.relation == "locks both ways":
            met = all(term.met(reversed_levers) for term in self.when)
            return tuple(term.lever for term in self.others) if met else ()
        if self.relation == "released by" and self.when:
            return tuple(term.lever for term in (*self.others, *self.when))
        return ()

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        row: dict[str, Any] = {"lever": self.lever, "relation": self.relation}
        for key, terms in (("levers", self.others), ("when", self.when)):
            if terms:
                row[key] = [{"lever": term.lever, "position": term.position} for term in terms]
        row["text"] = self.text
        return row


def _positions(terms: tuple[Term, ...]) -> str:
    """Return a condition in words: ``2 and 3 normal and 5 reversed``."""
    told = []
    for position in ("normal", "reversed"):
        names = [term.lever for term in terms if term.position == position]
        if names:
            told.append(f"{listed(names, 'and')} {position}")
    return " and ".join(told)


@dataclass(frozen=True, slots=True)
class FrameLever:
    """One lever of the frame."""

    number: str
    works: Works
    """Points, arms of one kind, arms of several kinds, or nothing."""
    names: tuple[str, ...]
    """The ids of the points, including those worked together with them, or of the arms."""

    @property
    def colour(self) -> str:
        """The colour of the lever."""
        return COLOURS[self.works]


@dataclass(frozen=True, slots=True)
class FrameTable:
    """A frame with its locking; no entry follows from the others."""

    levers: tuple[FrameLever, ...]
    """In the order of their numbers."""
    entries: tuple[LockingEntry, ...]
    """By lever, in the same order."""
    notes: tuple[str, ...] = ()
    """The gaps in the locking, each with its reason."""

    def of(self, lever: str) -> tuple[LockingEntry, ...]:
        """Return the entries of one lever."""
        return tuple(entry for entry in self.entries if entry.lever == lever)

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "levers": [
                {
                    "lever": lever.number,
                    "works": lever.works,
                    "names": list(lever.names),
                    "colour": lever.colour,
                }
                for lever in self.levers
            ],
            "entries": [entry.to_json() for entry in self.entries],
            "notes": list(self.notes),
        }
