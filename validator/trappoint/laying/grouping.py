"""Groups of offers: which acts a list shows at once, and under which headings it folds the rest."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.laying.offering import Offer

AT_ONCE = ""
"""The group of the acts that people do first."""

_VERBS: dict[str, tuple[str, ...]] = {
    "Join it to another end": ("join-ends",),
    "More kinds of track": (
        "put-in-three-way-points",
        "lay-scissors",
        "put-in-crossing",
        "put-in-joint",
        "put-in-trap-points",
        "put-in-turntable",
        "lay-balloon-loop",
        "lay-triangle",
        "add-leg",
    ),
    "A common shape": ("lay-shape",),
    "Lengths and running": ("set-length", "stand", "run", "describe-track"),
    "Angle, lock and levers": (
        "set-angle",
        "set-trap",
        "describe-points",
        "work-together",
        "work-apart",
    ),
    "Form and post": ("change-signal",),
    "The edge": ("describe-edge",),
    "Levers, scenes and trains": (
        "arm-signals",
        "number-levers",
        "put-lever",
        "set-scene",
        "add-train",
        "plan-session",
    ),
    "Boards": ("add-board", "join-boards", "part-boards"),
    "Names and notes": ("name", "rename", "note"),
    "Turn or take out": (
        "turn-round",
        *(f"take-out-{each}" for each in ("track", "points", "crossing", "turntable")),
    ),
}

_GROUP_OF = {verb: group for group, verbs in _VERBS.items() for verb in verbs}


def group_of(offer: Offer, kind: str, *, part: bool) -> str:
    """Return the heading for an offer at a kind of place; empty for one that is shown at once.

    ``part`` is true at an end of a track or a leg of an element.
    """
    verb = str(offer.step["do"])
    if verb == "put-signal":
        if not part:
            return "Signals along it"
        return "Other signals" if {"kind", "form"} & set(offer.step) else AT_ONCE
    if kind == "tracks" and verb == "change-platform":
        return "Platforms that are there"
    return _GROUP_OF.get(verb, AT_ONCE)
