"""Why a movement of a session cannot be made, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed

if TYPE_CHECKING:
    from trappoint.model.layout import SessionMove
    from trappoint.operation.sessions import Stuck

MAX_TRAINS = 12
"""So many trains in the way are told."""


def tell_stuck(stuck: Stuck, move: SessionMove) -> str:
    """Say why a movement cannot be made."""
    met = listed([f"{t} is in the way at {place}" for t, place in stuck.trains[:MAX_TRAINS]], "and")
    way = f" over {listed(move.via, 'and')}" if move.via else ""
    way += f" by {move.arm}" if move.arm else ""
    run = f"{move.train} cannot go from {stuck.where} to {move.to}{way}"
    return {
        "nowhere": f"{move.train} is not on the plan.",
        "elsewhere": f"{move.train} stands in {stuck.where}, not in {move.start}.",
        "there-already": f"{move.train} stands in {move.to} already.",
        "no-stand": stuck.told,
        "edge-taken": f"{move.train} cannot come in at {stuck.where}: {met}.",
        "blocked": f"{run}: {met}.",
        "no-road": f"{run}: no road leads there, even with no other train in the way.",
        "too-long": f"{run}: {stuck.told}",
        "given-up": "whether it can be made was not found out.",
    }[stuck.why]
