"""Trains that are too long for a journey, with the place in which they do not fit."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING, NamedTuple

from trappoint.dimensions.longest import UNSEEN_MM
from trappoint.operation.clearing import shortest
from trappoint.operation.journey_words import Called

if TYPE_CHECKING:
    from trappoint.operation.clearing import ClearingWish
    from trappoint.operation.journey_search import Finder, Journey


class TrainTooLong(NamedTuple):
    """A train that does not fit into a place in which it must come to rest."""

    train: str
    length_mm: float
    place: str
    takes_mm: float

    def tell(self, called: Called) -> str:
        """Return it as a sentence: ``goods is 2,400 mm long; loop-west has room for 300 mm.``"""
        return (
            f"{called.train(self.train)} is {self.length_mm:,.0f} mm long; "
            f"{called.place(self.place)} has room for {floor(self.takes_mm + UNSEEN_MM):,} mm."
        )


def find_too_long(finder: Finder, wish: ClearingWish) -> TrainTooLong | None:
    """Return the place in which a train does not fit on the shortest journey of a short train.

    None if it fits everywhere, or if there is no journey. Raises ``TooMany``.
    """
    if wish.train.length_mm is None:
        return None
    journey = shortest(finder, for_any_length(wish), frozenset())
    return None if journey is None else too_long_for(finder, wish, journey)


def for_any_length(wish: ClearingWish) -> ClearingWish:
    """Return the same wish for a train that fits everywhere."""
    return wish._replace(train=wish.train._replace(length_mm=None))


def too_long_for(finder: Finder, wish: ClearingWish, journey: Journey) -> TrainTooLong | None:
    """Return the place of a journey in which the train does not fit; None if it fits everywhere."""
    length_mm = wish.train.length_mm
    state = finder.too_short(journey, wish.goal, length_mm)
    takes = None if state is None else finder.takes(state)
    if state is None or takes is None or length_mm is None:
        return None
    return TrainTooLong(wish.train.train, length_mm, finder.network.place(state).name, takes)


def tell_too_long(finder: Finder, wish: ClearingWish) -> str:
    """Return the sentence of ``find_too_long``; empty if the train fits everywhere."""
    found = find_too_long(finder, wish)
    return "" if found is None else found.tell(Called(finder.facts.names))
