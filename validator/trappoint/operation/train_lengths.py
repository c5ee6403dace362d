"""Where a train is too long for a journey: the place in which it does not fit."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING, NamedTuple

from trappoint.dimensions.longest import UNSEEN_MM
from trappoint.operation.clearing import shortest

if TYPE_CHECKING:
    from trappoint.operation.clearing import ClearingWish
    from trappoint.operation.journey_search import Finder, Journey


class TrainTooLong(NamedTuple):
    """A train that does not fit where it must come to rest."""

    train: str
    length_mm: float
    place: str
    takes_mm: float

    def tell(self) -> str:
        """Say it: ``goods of 2,400 mm does not fit loop-west, which takes 300 mm.``"""
        return (
            f"{self.train} of {self.length_mm:,.0f} mm does not fit {self.place}, which takes "
            f"{floor(self.takes_mm + UNSEEN_MM):,} mm."
        )


def find_too_long(finder: Finder, wish: ClearingWish) -> TrainTooLong | None:
    """Return where a train does not fit on the shortest journey that a short train would make.

    None if it fits all along, or where there is no journey at all. Raises ``TooMany``.
    """
    if wish.train.length_mm is None:
        return None
    journey = shortest(finder, for_any_length(wish), frozenset())
    return None if journey is None else too_long_for(finder, wish, journey)


def for_any_length(wish: ClearingWish) -> ClearingWish:
    """Return the same wish of a train that fits everywhere."""
    return wish._replace(train=wish.train._replace(length_mm=None))


def too_long_for(finder: Finder, wish: ClearingWish, journey: Journey) -> TrainTooLong | None:
    """Return where the train does not fit on a journey; None if it fits all along."""
    length_mm = wish.train.length_mm
    state = finder.too_short(journey, wish.goal, length_mm)
    takes = None if state is None else finder.takes(state)
    if state is None or takes is None or length_mm is None:
        return None
    return TrainTooLong(wish.train.train, length_mm, finder.network.place(state).name, takes)


def tell_too_long(finder: Finder, wish: ClearingWish) -> str:
    """Say where a train does not fit; nothing where ``find_too_long`` finds no such place."""
    found = find_too_long(finder, wish)
    return "" if found is None else found.tell()
