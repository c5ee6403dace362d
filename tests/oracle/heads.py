"""The heads of a plan that hold trains, and where each of them stands."""

from __future__ import annotations

from typing import Any, NamedTuple

Plan = dict[str, Any]


class NotJudgedError(ValueError):
    """The plan has no verdict: an end or a signal stands where it cannot."""


class Head(NamedTuple):
    """All stop and shunt arms that speak to the same trains at one spot, and their kinds.

    `signal` names it: the signal with a stop arm, if two signals make the head. `at` is None
    right at the end that the trains run to.
    """

    signal: str
    track: str
    heading: str
    at: float | None
    kinds: frozenset[str]


HOLDING_KINDS = ("stop", "shunt")


def holding_heads(plan: Plan) -> list[Head]:
    """Every head that holds trains, in plan order; raises NotJudgedError for impossible places."""
    spots: dict[tuple[str, str, float | None], dict[str, str]] = {}
    for signal_id, signal in plan.get("signals", {}).items():
        for arm in signal["arms"]:
            kind = arm.get("kind", "stop")
            if kind not in HOLDING_KINDS:
                continue
            spot = _spot(plan, signal_id, signal, arm)
            by_kind = spots.setdefault(spot, {})
            if by_kind.setdefault(kind, signal_id) != signal_id:
                raise NotJudgedError(f"two signals have {kind} arms at {spot}")
    return [
        Head(by_kind.get("stop") or by_kind["shunt"], *spot, frozenset(by_kind))
        for spot, by_kind in spots.items()
    ]


def _spot(
    plan: Plan, signal_id: str, signal: dict[str, Any], arm: dict[str, Any]
) -> tuple[str, str, float | None]:
    """Track, heading and distance of an arm; the distance is None right at the end."""
    track = arm.get("track", signal["track"])
    heading = arm.get("for", signal["for"])
    # The signal's own distance is measured along its own track.
    at = arm.get("at_mm", signal.get("at_mm") if track == signal["track"] else None)
    length = plan["tracks"][track].get("length_mm")
    if at is None:
        return track, heading, None
    beyond = length is not None and at > length
    at_wrong_end = at == 0 if heading == "down" else length is not None and at == length
    if at < 0 or beyond or at_wrong_end:
        raise NotJudgedError(f"signal {signal_id} cannot stand at {at} of {track}")
    at_right_end = at == 0 if heading == "up" else length is not None and at == length
    return track, heading, None if at_right_end else at
