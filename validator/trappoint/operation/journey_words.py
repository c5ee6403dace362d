"""Words for journeys: names of trains, places and arms, and why a movement is impossible."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.model.layout import SessionMove
    from trappoint.model.names import Names
    from trappoint.operation.sessions import Stuck

MAX_TRAINS = 12
"""Most trains in the way that a message lists."""

_PLACES = ("tracks", "yards", "platforms", "points", "crossings", "turntables")


class Called:
    """The names in a plan with the ids, for sentences; the ids alone if ``names`` is None."""

    def __init__(self, names: Names | None = None) -> None:
        self._names = names

    def train(self, train: str) -> str:
        """Return a train: ``The Fen goods (goods)``."""
        return train if self._names is None else self._names.called("trains", train)

    def arm(self, arm: str) -> str:
        """Return an arm: ``Platform 1 starter (12)``."""
        return arm if self._names is None else self._names.called("arms", arm)

    def place(self, place: str) -> str:
        """Return a place: ``Goods loop (loop-west)``. A part of a track has the track's name."""
        if self._names is None:
            return place
        key = place.removeprefix("edge:")
        kinds = _PLACES if key == place else ("edges",)
        names = (self._names.name(kind, key.partition(".")[0]) for kind in kinds)
        name = next(filter(None, names), "")
        return f"{name} ({place})" if name and name.casefold() != key.casefold() else place

    def places(self, places: Iterable[str], last: str = "and") -> str:
        """Return places as a list in words, with this word before the last one."""
        return listed([self.place(place) for place in places], last)


def tell_stuck(stuck: Stuck, move: SessionMove, names: Names | None = None) -> str:
    """Return why a movement is impossible, as a sentence."""
    called = Called(names)
    met = listed(
        [
            f"{called.train(train)} is in the way at {called.place(place)}"
            for train, place in stuck.trains[:MAX_TRAINS]
        ],
        "and",
    )
    way = f" over {called.places(move.via)}" if move.via else ""
    way += f" by {called.arm(move.arm)}" if move.arm else ""
    train, to, where = called.train(move.train), called.place(move.to), called.place(stuck.where)
    run = f"{train} cannot go from {where} to {to}{way}"
    return {
        "nowhere": f"{train} is not on the plan.",
        "elsewhere": f"{train} is in {where}, not in {called.place(move.start or '')}.",
        "there-already": f"{train} is in {to} already.",
        "no-stand": stuck.reason,
        "edge-taken": f"{train} cannot come in at {where}: {met}.",
        "blocked": f"{run}: {met}.",
        "no-road": f"{run}: no road leads there, even with no other train in the way.",
        "too-long": f"{run}: {stuck.reason}",
        "given-up": "not checked, because the sessions are too long to analyse.",
    }[stuck.why]
