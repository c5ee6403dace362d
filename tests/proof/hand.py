"""Small plans, and whether they hold, worked out by hand from the format's page."""

from __future__ import annotations

from typing import Any

from oracle.cases import a_plan, without

Plan = dict[str, Any]

ONE_PLATFORM = a_plan(
    {"line": "edge:elsewhere joint:home", "platform": "joint:home buffer"},
    {"1": "line down", "2": "platform up"},
)

BACK_TO_BACK = a_plan({"k": "edge:w edge:e"}, {"D": "k down 500", "U": "k up 500"})

ONE_SECTION = a_plan({"west": "edge:w joint:j", "east": "joint:j edge:e"})
ONE_WAY_PART = a_plan({"west": "edge:w joint:j down", "east": "joint:j edge:e"})

BRANCH = a_plan(
    {"w": "edge:w joint:j", "s": "joint:j p.toe", "e": "p.left edge:e", "bay": "p.right edge:b"},
    {"W": "w down", "S": "s down shunt"},
    points={"p": {"normal": "left"}},
)
BRANCH_HELD = a_plan(
    {"w": "edge:w joint:j", "s": "joint:j p.toe", "e": "p.left edge:e", "bay": "p.right edge:b"},
    {"W": "w down", "S": "s down shunt", "E": "e up", "B": "bay up shunt"},
    points={"p": {"normal": "left"}},
)

FREE_EDGE = a_plan(
    {"w": "edge:w p.toe pass", "a": "p.left edge:a pass", "b": "p.right edge:b pass"},
    {"A": "a up", "B": "b up"},
    points={"p": {"normal": "left"}},
)
HELD_EDGE = {**FREE_EDGE, "signals": {**FREE_EDGE["signals"]}}
HELD_EDGE["signals"]["W"] = {"track": "w", "for": "down", "arms": [{"id": "W"}]}

NEIGHBOUR_HOLDS = {
    **FREE_EDGE,
    "edges": {"w": {"held": True}, "a": {"held": True}, "b": {"held": True}},
    "signals": {},
}
"""No signal and no stand of its own: the neighbours alone hold the trains."""
NEIGHBOUR_LETS_ONE = {**NEIGHBOUR_HOLDS, "edges": {"w": {"held": True}, "a": {"held": True}}}

CROSSING = a_plan(
    {"n": "edge:n x.a1", "s": "x.a2 edge:s", "w": "edge:w x.b1", "e": "x.b2 edge:e"},
    {"N": "n down", "S": "s up", "W": "w down", "E": "e up"},
    crossings={"x": {}},
)

TABLE = a_plan(
    {"one": "t.1 buffer", "two": "t.2 buffer", "three": "t.3 edge:e"},
    {"1": "one up", "2": "two up shunt", "3": "three up"},
    turntables={"t": {"roads": ["1", "2", "3"]}},
)

_TRAP_TRACKS = {
    "siding": "buffer t.toe stand",
    "drag": "t.left buffer pass",
    "link": "t.right p.right",
    "w": "edge:w p.toe",
    "e": "p.left edge:e",
    "u": "edge:u q.toe",
    "v": "q.left edge:v",
    "x": "q.right edge:x",
}
_TRAP_SIGNALS = {"W": "w down", "E": "e up", "U": "u down", "V": "v up", "X": "x up"}
_TRAP_POINTS = {
    "t": {"normal": "left", "trap": True},
    "p": {"normal": "left"},
    "q": {"normal": "left"},
}
KEPT_TRAP = a_plan(_TRAP_TRACKS, _TRAP_SIGNALS, points=_TRAP_POINTS)
LEVERED = {**KEPT_TRAP, "worked_together": [["t", "q"]]}
"""A route from u to x throws the trap points over: they guard nothing."""
WITH_ITS_POINTS = {**KEPT_TRAP, "worked_together": [["t", "p"]]}
NO_TRAP = {**KEPT_TRAP, "points": {**_TRAP_POINTS, "t": {"normal": "left"}}}
TRAP_TO_THE_LINE = {
    **KEPT_TRAP,
    "points": {**_TRAP_POINTS, "t": {"normal": "right", "trap": True}},
}
"""Trap points that lie for the line when nobody needs them."""

YARD = a_plan(
    {"line": "edge:e joint:j", "y": "joint:j buffer 1000"},
    {"H": "line down", "Y": "y up 300", "Z": "y up 700"},
    yards={"goods": {"tracks": ["y"]}},
)

SHUT_YARD = a_plan(
    {
        "in": "edge:e x.b1 down",
        "across": "x.b2 buffer up",
        "north": "buffer x.a1 pass",
        "south": "x.a2 buffer pass",
    },
    crossings={"x": {}},
    yards={"goods": {"crossings": ["x"]}},
)
"""A train from the edge could not leave the crossing again: in a yard neither."""

_STARTER_BEFORE_THE_END = {
    "line": "edge:w joint:a",
    "main": "joint:a joint:b 1000",
    "east": "joint:b edge:e",
}
STUB = a_plan(
    _STARTER_BEFORE_THE_END,
    {"H": "line down", "S": "main down 950", "U": "main up", "E": "east up"},
    platforms={"A": {"tracks": ["main"]}},
    trains={"local": {"length_mm": 60}},
)
NO_STUB = {**STUB, "trains": {"local": {"length_mm": 50}}}

CASES: dict[str, tuple[Plan, bool]] = {
    "one platform": (ONE_PLATFORM, True),
    "one platform without its home": (without(ONE_PLATFORM, "1"), False),
    "one platform without its starter": (without(ONE_PLATFORM, "2"), False),
    # Nothing divides the section, so it holds one train.
    "one platform without signals": (without(ONE_PLATFORM, "1", "2"), True),
    "one section": (ONE_SECTION, True),
    "two sections for their running": (ONE_WAY_PART, False),
    "back to back": (BACK_TO_BACK, True),
    "back to back without one": (without(BACK_TO_BACK, "U"), False),
    "a branch": (BRANCH, False),
    "a branch, held": (BRANCH_HELD, True),
    # Trains from W pass S, so the plan holds without it.
    "a branch, not held on the way": (without(BRANCH_HELD, "S"), True),
    "an edge that is not held": (FREE_EDGE, False),
    "an edge that is held": (HELD_EDGE, True),
    "edges that the neighbours hold": (NEIGHBOUR_HOLDS, True),
    "an edge that a neighbour does not hold": (NEIGHBOUR_LETS_ONE, False),
    "a crossing": (CROSSING, True),
    "a crossing with one signal missing": (without(CROSSING, "N"), False),
    "a turntable": (TABLE, True),
    "a turntable with one signal missing": (without(TABLE, "2"), False),
    "a trap": (KEPT_TRAP, True),
    "a trap on a lever with points elsewhere": (LEVERED, False),
    "a trap on a lever with its own points": (WITH_ITS_POINTS, True),
    "no trap": (NO_TRAP, False),
    "a trap that lies for the line": (TRAP_TO_THE_LINE, False),
    "a yard": (YARD, True),
    "a yard without an exit head": (without(YARD, "Y", "Z"), False),
    "a yard with its exit head further in": (without(YARD, "Y"), True),
    "a yard with one signal missing": (without(YARD, "H"), False),
    "a yard that running shuts": (SHUT_YARD, True),
    "a starter before the end of a platform": (STUB, True),
    "room for a train beyond a starter": (NO_STUB, False),
}
