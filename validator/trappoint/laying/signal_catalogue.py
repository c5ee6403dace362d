"""The verbs and offers for signals, and for all else that is not track."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying import (
    arms,
    board_verbs,
    buildings,
    levers,
    names,
    other_offers,
    particulars,
    signal_offers,
    signals,
    workings,
)

if TYPE_CHECKING:
    from trappoint.laying.offering import Offering
    from trappoint.laying.verb import Verb

VERBS: tuple[Verb, ...] = (
    *signals.VERBS,
    *arms.VERBS,
    *buildings.VERBS,
    *workings.VERBS,
    *board_verbs.VERBS,
    *levers.VERBS,
    *names.VERBS,
    *particulars.VERBS,
)
"""The verbs of signals, platforms, yards, levers, working, boards, names and notes."""

OFFERINGS: tuple[Offering, ...] = (
    *signal_offers.OFFERINGS,
    *other_offers.OFFERINGS,
    *particulars.OFFERINGS,
)
"""The functions that offer these verbs."""
