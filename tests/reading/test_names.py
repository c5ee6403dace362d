"""Names of things in messages: the name from the plan, with the id to type."""

from __future__ import annotations

import trappoint
from trappoint.model.names import Names

PLAN = """{
  "format": "trappoint-layout/1",
  "tracks": {
    "west": {"up": "edge:w", "down": "p1.toe", "name": "West line"},
    "loop": {"up": "p1.left", "down": "buffer", "name": "Loop"},
    "main": {"up": "p1.right", "down": "edge:e"}
  },
  "points": {"p1": {"normal": "right"}},
  "signals": {
    "1": {"track": "west", "for": "down", "name": "Down home",
          "arms": [{"id": "1L", "to": "loop"}, {"id": "1R", "name": "Down main home"}]},
    "2": {"track": "main", "for": "up", "arms": [{"id": "2"}]}
  },
  "edges": {"w": {"name": "Towards\\nWest Fold"}}
}"""


def test_name_and_id() -> None:
    names = Names(trappoint.load(PLAN))
    called = {
        ("tracks", "west"): "West line (west)",
        ("tracks", "loop"): "loop",  # the id is the name
        ("tracks", "main"): "main",  # no name
        ("tracks", "nowhere"): "nowhere",
        ("points", "p1"): "p1",
        ("signals", "1"): "Down home (1)",
        ("arms", "1L"): "Down home (1L)",  # an arm without a name has that of its signal
        ("arms", "1R"): "Down main home (1R)",
        ("arms", "2"): "2",
        ("edges", "w"): "Towards\\nWest Fold (w)",
    }
    assert {key: names.called(*key) for key in called} == called


def test_long_names_are_shortened() -> None:
    names = Names(trappoint.load(PLAN.replace("West line", "L" * 90)))
    assert names.called("tracks", "west") == f"{'L' * 57}... (west)"
