"""The heads of a plan that hold trains, and where each of them stands."""

from __future__ import annotations

from typing import Any, NamedTuple

Plan = dict[str, Any]


class NotJudgedError(ValueError):
    """The plan is not one that has a verdict: an end or a signal stands where none can."""


class Head(NamedTuple):
    """The stop and shunt arms of one signal at one spot of one track, and the kinds it has.

    `at` is None right at the end.
    """

    signal: str
    track: str
    heading: str
    at: float | None
    kinds: frozenset[str]


HOLDING_KINDS = ("stop", "shunt")


def holding_heads(plan: Plan) -> list[Head]:
    """Every head that holds trains, in plan order; raises NotJudgedError for impossible places."""
    heads = []
    taken = set()
    for signal_id, signal in plan.get("signals", {}).items():
        of_signal: dict[tuple[str, str, float | None], set[str]] = {}
        for arm in signal["arms"]:
            kind = arm.get("kind", "stop")
            if kind not in HOLDING_KINDS:
                continue
            track = arm.get("track", signal["track"])
            heading = arm.get("for", signal["for"])
            if "at_mm" in arm:
                at = arm["at_mm"]
            elif "track" in arm:
                at = None  # the signal's own distance is measured along another track
            else:
                at = signal.get("at_mm")
            of_signal.setdefault((track, heading, at), set()).add(kind)
        for (track, heading, at), kinds in of_signal.items():
            head = Head(signal_id, track, heading, at, frozenset(kinds))
            placed = _right_at_end(head, plan["tracks"][head.track].get("length_mm"))
            where = (placed.track, placed.heading, placed.at)
            if where in taken:
                raise NotJudgedError(f"two heads that hold the same trains at {where}")
            taken.add(where)
            heads.append(placed)
    return heads


def _right_at_end(head: Head, length: float | None) -> Head:
    at = head.at
    if at is None:
        return head
    beyond = length is not None and at > length
    at_wrong_end = at == 0 if head.heading == "down" else length is not None and at == length
    if at < 0 or beyond or at_wrong_end:
        raise NotJudgedError(f"signal {head.signal} can not stand at {at} of {head.track}")
    at_right_end = at == 0 if head.heading == "up" else length is not None and at == length
    return head._replace(at=None) if at_right_end else head
