"""A published double-line junction of 1898 whose points are free of each other.

Source: W. H. Mills, Railway Construction, 1898, fig. 498 and its table, rows 1 and 2. The format
has no bolt locks, so lever 8 is left out. The kinds of the signals are our reading, unconfirmed:
homes 5, 2, 14, 16, distants 4, 1, 15, 17, starters 6 and 13.
"""

from __future__ import annotations

from typing import Any

from frame.plans import as_layout
from frame.working import moved, simulate, within_reach
from trappoint.checking.frame import frame_table

WAYS = {"length_mm": 3000}


def home(track: str, heading: str, *arms: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"track": track, "for": heading, "arms": list(arms), **more}


def distant(arm: str, *repeats: str) -> dict[str, Any]:
    return {"id": arm, "kind": "distant", "repeats": list(repeats)}


PLAN = {
    "format": "trappoint-layout/1",
    "tracks": {
        "down-a": {"up": "edge:a-down", "down": "p9.toe", "running": "down", **WAYS},
        "down-link": {"up": "p9.right", "down": "x.a1", "running": "down"},
        "down-c": {"up": "x.a2", "down": "edge:c-down", "running": "down", **WAYS},
        "down-d": {"up": "p9.left", "down": "edge:d-down", "running": "down"},
        "up-a": {"up": "edge:a-up", "down": "p12.toe", "running": "up", **WAYS},
        "up-c": {"up": "p12.right", "down": "edge:c-up", "running": "up", **WAYS},
        "up-link": {"up": "p12.left", "down": "x.b1", "running": "up"},
        "up-d": {"up": "x.b2", "down": "edge:d-up", "running": "up", **WAYS},
    },
    "points": {"p9": {"normal": "right"}, "p12": {"normal": "right"}},
    "crossings": {"x": {}},
    "signals": {
        "homes-a": home("down-a", "down", {"id": "2", "to": "down-d"}, {"id": "5", "to": "down-c"}),
        "distants-a": home("down-a", "down", distant("1", "2"), distant("4", "5"), at_mm=500),
        "6": home("down-c", "down", {"id": "6"}, at_mm=1000),
        "14": home("up-d", "up", {"id": "14"}),
        "15": home("up-d", "up", distant("15", "14"), at_mm=2500),
        "16": home("up-c", "up", {"id": "16"}),
        "17": home("up-c", "up", distant("17", "16"), at_mm=2500),
        "13": home("up-a", "up", {"id": "13"}, at_mm=2000),
    },
    "levers": {
        **{n: {"arms": [n]} for n in ("1", "2", "4", "5", "6", "13", "14", "15", "16", "17")},
        "9": {"points": ["p9"]},
        "12": {"points": ["p12"]},
    },
}


def test_row_a_to_c() -> None:
    """Releases 5, 4, 6; locks 2, 1, 14, 15; left free 12, 16, 17, 13."""
    frame = simulate(frame_table(as_layout(PLAN), interlock_points=False))
    state: frozenset[str] = frozenset()
    for lever in ("6", "5", "4"):
        state = moved(frame, state, lever)
    assert [n for n in ("2", "1", "14", "15") if within_reach(frame, state, n)] == []
    free = ("12", "16", "17", "13")
    assert [n for n in free if not within_reach(frame, state, n)] == []


def test_row_d_to_a() -> None:
    """With 12 set: releases 14, 15; locks 5, 4, 16, 17; left free 9, 2, 1 (and 8)."""
    frame = simulate(frame_table(as_layout(PLAN), interlock_points=False))
    state: frozenset[str] = frozenset()
    for lever in ("12", "14", "15"):
        state = moved(frame, state, lever)
    assert [n for n in ("5", "4", "16", "17") if within_reach(frame, state, n)] == []
    assert [n for n in ("9", "2", "1") if not within_reach(frame, state, n)] == []
    assert frame.may_move(state, "12").status == "back-locked"


def test_locking_the_points_among_themselves_would_differ() -> None:
    """With such locking, 12 is not free in row 1, where the source prints it as free."""
    table = frame_table(as_layout(PLAN), interlock_points=True)
    assert "12 released by 9" in [entry.text for entry in table.entries]
    frame = simulate(table)
    assert not within_reach(frame, moved(frame, (), "5"), "12")
