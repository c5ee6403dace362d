"""Turns a board round: up in its plan becomes down in the whole.

Some values do not change, since they are seen from the toe or by the driver: the legs and lies of
points, the order of arms and the side of the track.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.core.findings import pointer_to

if TYPE_CHECKING:
    from collections.abc import Iterator

OTHER = {"up": "down", "down": "up", "both": "both"}
OTHER_HAND = {"left": "right", "right": "left"}


def turn_round(plan: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Exchange up and down in a plan, in place: ends, ``for``, ``running``, measures, the rest.

    The diagram is then upside down, so the hints for it are turned too.

    Yields the pointer and the track of each measure that cannot be taken from the other end,
    because the track has no length. (A measure greater than the length of its track is not
    changed: a rule reports it.)
    """
    for track in plan["tracks"].values():
        track["up"], track["down"] = track["down"], track["up"]
        if "running" in track:
            track["running"] = OTHER[track["running"]]
        if "gradient_percent" in track:
            track["gradient_percent"] = -track["gradient_percent"]
        if "curve" in track:
            track["curve"] = OTHER_HAND[track["curve"]]
        _turn_hint(track, "lane")
    for kind in ("points", "crossings", "turntables"):
        for element in plan.get(kind, {}).values():
            _turn_hint(element, "order")
    for signal_id, signal in plan["signals"].items():
        here = ("signals", signal_id)
        yield from _turn(plan, signal, signal["track"], here)
        for number, arm in enumerate(signal["arms"]):
            yield from _turn(plan, arm, arm.get("track", signal["track"]), (*here, "arms", number))


def _turn_hint(thing: dict[str, Any], key: str) -> None:
    """Negate a hint for the diagram: above becomes below, left becomes right."""
    if "draw" in thing:
        thing["draw"][key] = -thing["draw"][key]


def _turn(
    plan: dict[str, Any], post: dict[str, Any], track_id: str, here: tuple[str | int, ...]
) -> Iterator[tuple[str, str]]:
    if "for" in post:
        post["for"] = OTHER[post["for"]]
    track = plan["tracks"].get(track_id)
    if "at_mm" not in post or track is None:
        return
    length = track.get("length_mm")
    if length is None:
        yield pointer_to(*here, "at_mm"), track_id
    elif post["at_mm"] <= length:
        post["at_mm"] = length - post["at_mm"]
