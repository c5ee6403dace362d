"""Guess which things of a plan a text means if it is not an id."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.kinds import ONE_OF

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable


class Thing(NamedTuple):
    """A thing of a plan: its kind (the key of its map), its id, and its name (may be empty)."""

    kind: str
    id: str
    name: str


_TRADE_WORDS = {
    "tracks": ("road", "line"),
    "points": ("point", "turnout", "switch"),
    "crossings": ("slip", "diamond"),
    "arms": ("signal",),
}
"""Other words that people use for the things of each kind."""


class Meanings:
    """The things of a plan, found by any text that names them.

    ``Platform 1``, ``platform A``, ``Platform 1 (A)`` and ``loop west`` (for ``loop-west``) count.
    Capital letters, spaces, hyphens and underlines make no difference.
    """

    def __init__(self, things: Iterable[Thing]) -> None:
        self._named: dict[str, dict[Thing, None]] = {}
        for thing in things:
            for way in _ways_to_name(thing):
                self._named.setdefault(way, {})[thing] = None

    def ids(self, text: str, kinds: Collection[str]) -> list[str]:
        """Return the ids of the things of some kinds that a text names, in plan order."""
        found = self._named.get(_folded(text), ())
        return list(dict.fromkeys(thing.id for thing in found if thing.kind in kinds))


def _ways_to_name(thing: Thing) -> set[str]:
    own, name = _folded(thing.id), _folded(thing.name)
    kinds = (ONE_OF.get(thing.kind, ""), thing.kind, *_TRADE_WORDS.get(thing.kind, ()))
    ways = {own, *(f"{kind} {own}" for kind in kinds)}
    if name:
        ways |= {name, f"{name} ({own})"}
    return ways


def _folded(text: str) -> str:
    return re.sub(r"[\s_-]+", " ", text).strip().casefold()
