"""Plans of the published examples, with their levers."""

from __future__ import annotations

import copy
import json
from typing import Any

from trappoint import load
from trappoint.model.layout import Layout

Plan = dict[str, Any]


def as_layout(plan: Plan) -> Layout:
    return load(json.dumps(plan))


def junction_1873() -> Plan:
    """The nine-lever junction printed in "Exposition at Vienna", 1873, pp. 492, 494 and 495.

    A double branch leaves a double main line. Points 5 are in the up line (normal: main), points 6
    in the down line (normal: branch); the up branch crosses the down main line. Levers 1, 2 and 9
    work distants, 3 the main up home, 4 the branch up home, 7 the branch down home, 8 the main down
    home. The up end of every track is towards A.
    """
    return {
        "format": "trappoint-layout/1",
        "title": "Nine-lever junction",
        "tracks": {
            "up-a": {"up": "edge:a-up", "down": "p5.toe", "running": "up"},
            "up-c": {"up": "p5.right", "down": "edge:c-up", "running": "up", "length_mm": 3000},
            "up-link": {"up": "p5.left", "down": "x.b1", "running": "up"},
            "up-d": {"up": "x.b2", "down": "edge:d-up", "running": "up", "length_mm": 3000},
            "down-a": {"up": "edge:a-down", "down": "p6.toe", "running": "down", "length_mm": 3000},
            "down-link": {"up": "p6.right", "down": "x.a1", "running": "down"},
            "down-c": {"up": "x.a2", "down": "edge:c-down", "running": "down"},
            "down-d": {"up": "p6.left", "down": "edge:d-down", "running": "down"},
        },
        "points": {"p5": {"normal": "right"}, "p6": {"normal": "left"}},
        "crossings": {"x": {}},
        "signals": {
            "3": {"track": "up-c", "for": "up", "arms": [{"id": "3"}]},
            "2": {"track": "up-c", "for": "up", "at_mm": 2500,
                  "arms": [{"id": "2", "kind": "distant", "repeats": ["3"]}]},
            "4": {"track": "up-d", "for": "up", "arms": [{"id": "4"}]},
            "1": {"track": "up-d", "for": "up", "at_mm": 2500,
                  "arms": [{"id": "1", "kind": "distant", "repeats": ["4"]}]},
            "78": {"track": "down-a", "for": "down", "mount": "bracket",
                   "arms": [{"id": "7", "to": "down-d"}, {"id": "8", "to": "down-c"}]},
            "9": {"track": "down-a", "for": "down", "at_mm": 500,
                  "arms": [{"id": "9", "kind": "distant", "repeats": ["7", "8"]}]},
        },
        "levers": {
            **{number: {"arms": [number]} for number in ("1", "2", "3", "4", "7", "8", "9")},
            "5": {"points": ["p5"]},
            "6": {"points": ["p6"]},
        },
    }  # fmt: skip


def with_levers(plan: Plan, levers: Plan) -> Plan:
    plan = copy.deepcopy(plan)
    plan["levers"] = levers
    return plan
