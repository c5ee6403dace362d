"""Two boards that hold by themselves, and a meet that is put together from them."""

from __future__ import annotations

import json
from typing import Any


def board(*, stand: bool, edge: str = "door") -> str:
    """One track between two edges, with no signal: beyond an edge nobody is to be met."""
    return _plan(tracks={"line": {"up": "edge:back-door", "down": f"edge:{edge}", "stand": stand}})


def misspelt(text: str) -> str:
    """A board with a slip of its own: a platform beside a track that there is not."""
    return _plan(**(json.loads(text) | {"platforms": {"A": {"tracks": ["lien"]}}}))


def meet(**boards: str) -> str:
    """The two boards as halves of a ring, with flaps between them on which trains run one way.

    Where trains may stand on both boards, nothing holds them.
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
"""A meet that holds."""

CLASH = board(stand=True)
"""The second board as it holds by itself, but not in the meet."""
