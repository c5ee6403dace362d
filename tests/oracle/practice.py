"""Signals for random stations as practice has them: homes, starters, discs at sidings."""

from __future__ import annotations

import random

from oracle.drawn import OTHER_WAY, Drawn, Head, Kinds, Plan
from oracle.signalling import finish, hold_yards

__all__ = ["signal_station"]

KINDS: dict[str, tuple[Kinds, ...]] = {
    "line": (("stop",), ("stop",), ("stop",), ("stop", "shunt")),
    "road": (("stop",), ("stop",), ("stop", "shunt"), ("shunt",)),
    "siding": (("shunt",), ("shunt",), ("stop",)),
    "yard": (("shunt",), ("stop",)),
    "link": (("shunt",),),
}
LIKELY = {"line": 0.85, "road": 0.8, "siding": 0.5, "yard": 0.5, "link": 0.08}


def signal_station(rng: random.Random, plan: Plan, roles: dict[str, str], flaws: int) -> None:
    """Homes, starters and exit signals; then signals along the tracks; then flaws."""
    drawn = Drawn(rng, plan, shunts=0.3)
    for section in drawn.sections(_joints_of_roads(plan, roles)):
        must = any(drawn.may_stand(each) for each in section)
        for track_id, end in drawn.exits(section):
            role = roles[track_id]
            if drawn.is_trapped(track_id, end) and rng.random() < 0.7:
                continue
            at_element = "." in drawn.track(track_id)[end]
            likely = LIKELY[role] if at_element and not drawn.is_before_trap(track_id, end) else 0.0
            if must or rng.random() < likely:
                drawn.at_end(track_id, end, rng.choice(KINDS[role]))
    hold_yards(drawn, rng.choice(KINDS["yard"]))
    if rng.random() < 0.5:
        _set_starters_back(drawn, roles)
    if rng.random() < 0.5:
        _signal_along(drawn, roles)
    finish(drawn, flaws)


def _joints_of_roads(plan: Plan, roles: dict[str, str]) -> set[str]:
    """Joints that divide a road from the next; a signal stands there."""
    meeting: dict[str, set[str]] = {}
    for track_id, track in plan["tracks"].items():
        for end in ("up", "down"):
            meeting.setdefault(track[end], set()).add(roles[track_id])
    return {text for text, met in meeting.items() if text.startswith("joint:") and len(met) == 2}


def _set_starters_back(drawn: Drawn, roles: dict[str, str]) -> None:
    """Starters stand a little before the points that they guard."""
    for head in drawn.heads:
        of_road = roles[head.track] == "road" and "." in drawn.track(head.track)[head.heading]
        if of_road and head.at is None and drawn.rng.random() < 0.6:
            drawn.set_back(head, drawn.rng.choice((60, 60, 120, 200)))


def _signal_along(drawn: Drawn, roles: dict[str, str]) -> None:
    """Advanced starters, outer homes and signals back to back along lines, mid-road signals."""
    rng = drawn.rng
    for track_id, track in drawn.plan["tracks"].items():
        if roles[track_id] not in ("line", "road") or rng.random() < 0.6:
            continue
        edge = next((end for end in ("up", "down") if track[end].startswith("edge:")), None)
        third = track.get("length_mm", 900) // 3
        if edge is not None and "." in track[OTHER_WAY[edge]] and drawn.lets(track_id, edge):
            # The home or the outer home has to stand where the advanced starter does, or beyond.
            home = rng.choice((third, third, 2 * third))
            starter = rng.choice((home, 2 * third))
            near, far = (home, starter) if edge == "up" else (3 * third - home, 3 * third - starter)
            if drawn.lets(track_id, OTHER_WAY[edge]):
                drawn.place(Head(track_id, OTHER_WAY[edge], near, ("stop",)))
            drawn.place(Head(track_id, edge, far, ("stop",)))
        elif edge is None and "." in track["up"] and "." in track["down"]:
            headings = [each for each in ("down", "up") if drawn.lets(track_id, each)]
            if roles[track_id] == "line" and rng.random() < 0.5:
                headings = headings[:1]
            for heading in headings:
                drawn.place(Head(track_id, heading, third, rng.choice(KINDS[roles[track_id]])))
