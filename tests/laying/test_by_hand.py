"""Two examples as a person builds them: lines, loops and signals, and names where they matter."""

from __future__ import annotations

import json
from typing import Any

from trappoint.checking.check import check_content
from trappoint.laying.history import History
from trappoint.laying.steps import lay

from .examples import EXAMPLES

Step = dict[str, Any]

QUAY_TRACK: list[Step] = [
    {"do": "lay-line", "up": "edge:town", "down": "edge:quarry", "track": "line"},
    {"do": "lay-loop", "track": "line", "at": "within", "hand": "left", "loop": "loop"},
    {"do": "lay-siding", "track": "loop", "hand": "left", "name": "Siding", "length_mm": 610},
]
QUAY_NAMES: list[Step] = [
    {"do": "rename", "at": "tracks/line", "to": "town-line"},
    {"do": "rename", "at": "tracks/line-2", "to": "main"},
    {"do": "rename", "at": "tracks/line-3", "to": "quarry-line"},
    {"do": "rename", "at": "tracks/loop", "to": "loop-west"},
    {"do": "rename", "at": "tracks/loop-2", "to": "loop-east"},
]
QUAY_MEASURES: list[Step] = [
    {"do": "set-length", "track": "main", "length_mm": 1450},
    {"do": "set-length", "track": "loop-west", "length_mm": 900},
    {"do": "set-length", "track": "loop-east", "length_mm": 320},
    {"do": "stand", "track": "loop-east", "stand": "usual"},
    {"do": "set-angle", "of": "p1", "crossing_number": 8},
]
QUAY_SIGNALS: list[Step] = [
    {"do": "put-signal", "track": "main", "for": "down", "id": "2"},
    {"do": "put-signal", "track": "main", "for": "up", "id": "3"},
    {"do": "put-signal", "track": "loop-west", "for": "down", "id": "4", "mount": "bracket"},
    {"do": "put-signal", "track": "loop-west", "for": "up", "id": "5"},
    {"do": "put-signal", "track": "siding", "for": "up", "id": "6"},
    {"do": "put-signal", "track": "quarry-line", "for": "up", "id": "7", "mount": "bracket"},
    {"do": "put-signal", "track": "town-line", "for": "down", "id": "1", "mount": "bracket"},
    {"do": "change-arm", "arm": "6", "to": "loop-west"},
]
QUAY_REST: list[Step] = [
    {"do": "build-platform", "tracks": "main", "length_mm": 900},
    {"do": "build-platform", "tracks": "loop-west", "length_mm": 700},
    {"do": "call-plan", "title": "Kelpie Quay"},
    {"do": "set-scale", "scale": "OO"},
    {"do": "describe-plan", "schema": "../schema/layout.schema.json"},
]


def test_the_quay_holds_as_soon_as_its_signals_stand() -> None:
    history = History()
    bare = history.do([*QUAY_TRACK, *QUAY_NAMES, *QUAY_MEASURES])
    assert check_content(bare.text, "plan").holds is False
    laid = history.do(QUAY_SIGNALS)
    assert laid.said[-2] == (
        "Signal 1 stands on town-line for down trains, with an arm for each of its 2 roads."
    )
    assert check_content(laid.text, "plan").holds is True
    assert history.undo() == bare.text


def test_the_quay_is_the_example() -> None:
    laid = lay(None, [*QUAY_TRACK, *QUAY_NAMES, *QUAY_MEASURES, *QUAY_SIGNALS, *QUAY_REST])
    expected = json.loads((EXAMPLES / "kelpie-quay.layout.json").read_text("utf-8"))
    assert json.loads(laid.text) == expected


TOWN: list[Step] = [
    {"do": "lay-line", "up": "edge:vale", "down": "buffer", "track": "line"},
    {"do": "put-in-points", "track": "line", "hand": "right", "leg": "road-2",
     "length_mm": 1150, "crossing_number": 8},
    {"do": "rename", "at": "tracks/line-2", "to": "road-1"},
    {"do": "set-length", "track": "line", "length_mm": 1100},
    {"do": "set-length", "track": "road-1", "length_mm": 1250},
    {"do": "put-signal", "track": "road-1", "for": "up", "id": "start-1", "arm": "S1",
     "duties": ["starter platform 1"]},
    {"do": "put-signal", "track": "road-2", "for": "up", "id": "start-2", "arm": "S2",
     "duties": ["starter platform 2"]},
    {"do": "put-signal", "track": "line", "for": "down", "id": "home", "mount": "bracket",
     "duties": ["junction p1"]},
    {"do": "rename", "at": "arms/homeL", "to": "H1"},
    {"do": "rename", "at": "arms/homeR", "to": "H2"},
    {"do": "put-signal", "track": "line", "for": "down", "at_mm": 150, "id": "distant",
     "side": "left", "kind": "distant", "arm": "HD", "repeats": "H1"},
    {"do": "change-arm", "arm": "H1", "expects": {"p1": "normal"}},
    {"do": "change-arm", "arm": "H2", "expects": {"p1": "reverse"}, "never_with": "H1"},
    {"do": "change-arm", "arm": "S2", "never_with": "S1"},
    {"do": "build-platform", "tracks": "road-1", "id": "1", "length_mm": 1000},
    {"do": "build-platform", "tracks": "road-2", "length_mm": 950},
    {"do": "put-lever", "arms": "H1"},
    {"do": "put-lever", "arms": "H2"},
    {"do": "put-lever", "points": "p1"},
    {"do": "put-lever", "arms": "S1"},
    {"do": "put-lever", "arms": "S2"},
    {"do": "put-lever", "arms": "HD"},
    {"do": "call-plan", "title": "Nixie Town"},
    {"do": "set-scale", "scale": "OO"},
    {"do": "describe-plan", "schema": "../../../schema/layout.schema.json"},
    {"do": "note", "at": "plan", "note":
     "The terminus. Down is towards the buffers; where it stands at the left it is reversed."},
]  # fmt: skip


def test_a_terminus_is_the_example() -> None:
    path = EXAMPLES / "nixie-vale" / "boards" / "nixie-town.layout.json"
    assert json.loads(lay(None, TOWN).text) == json.loads(path.read_text("utf-8"))
