"""Two boards that hold alone, and a plan assembled from them."""

from __future__ import annotations

import json
from typing import Any


def board(*, stand: bool, edge: str = "door") -> str:
    """Return a plan of one track between two edges, without signals: it holds."""
    return _plan(tracks={"line": {"up": "edge:back-door", "down": f"edge:{edge}", "stand": stand}})


def misspelt(text: str) -> str:
    """Return a board with a mistake: a platform beside a track that does not exist."""
    return _plan(**(json.loads(text) | {"platforms": {"A": {"tracks": ["lien"]}}}))


def meet(**boards: str) -> str:
    """Return the two boards as halves of a ring, with one-way flaps between them.

    If trains may stand on both boards, nothing holds them.
    """
    return _plan(
        boards={
            "west": {"plan": boards.get("west", "boards/west.layout.json")},
            "east": {"plan": boards.get("east", "boards/east.layout.json"), "reversed": True},
        },
        joins=[
            {"a": "west:door", "b": ":west"},
            {"a": "east:door", "b": ":east"},
            {"a": "west:back-door", "b": ":back-west"},
            {"a": "east:back-door", "b": ":back-east"},
        ],
        tracks={
            "flap": {"up": "edge:west", "down": "edge:east", "running": "up"},
            "back-flap": {"up": "edge:back-east", "down": "edge:back-west", "running": "up"},
        },
    )


def _plan(**given: Any) -> str:
    return json.dumps({"format": "trappoint-layout/1"} | given, indent=1)


WEST, EAST, MEET = "boards/west.layout.json", "boards/east.layout.json", "meets/spring.layout.json"

GOOD = {
    WEST: board(stand=True),
    EAST: board(stand=False),
    MEET: meet(west="../boards/west.layout.json", east="../boards/east.layout.json"),
}
"""An assembled plan that holds, and its boards."""

CLASH = board(stand=True)
"""A version of the second board that holds alone, but not in the assembled plan."""
