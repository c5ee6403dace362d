"""Two boards that hold by themselves, and a meet that is put together from them."""

from __future__ import annotations

import json
from typing import Any


def board(*, stand: bool, edge: str = "door") -> str:
    """One track from a buffer to an edge: with one place there is nobody to be met."""
    track = {"up": "buffer", "down": f"edge:{edge}", "stand": stand}
    return _plan(tracks={"line": track})


def meet(**boards: str) -> str:
    """The two boards face to face: where trains may stand on both, nothing holds them."""
    return _plan(
        tracks={},
        boards={
            "west": {"plan": boards.get("west", "boards/west.layout.json")},
            "east": {"plan": boards.get("east", "boards/east.layout.json"), "reversed": True},
        },
        joins=[{"a": "west:door", "b": "east:door"}],
    )


def _plan(**given: Any) -> str:
    return json.dumps({"format": "trappoint-layout/1", **given}, indent=1)


WEST, EAST, MEET = "boards/west.layout.json", "boards/east.layout.json", "meets/spring.layout.json"

GOOD = {
    WEST: board(stand=True),
    EAST: board(stand=False),
    MEET: meet(west="../boards/west.layout.json", east="../boards/east.layout.json"),
}
"""A meet that holds."""

CLASH = board(stand=True)
"""The second board as it holds by itself, but not in the meet."""
