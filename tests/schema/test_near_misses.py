"""Findings for names instead of ids, trade words and units suggest the right value."""

from __future__ import annotations

import json
from typing import Any

import pytest

from trappoint.checking.check import check_content
from trappoint.core.findings import Finding
from trappoint.core.meaning import Meanings, Thing
from trappoint.core.spelling import length_in_mm

ONLY_WORDS = "Only these words have a meaning here."


def _plan() -> dict[str, Any]:
    return {
        "format": "trappoint-layout/1",
        "tracks": {
            "line": {"up": "edge:town", "down": "p1.toe"},
            "loop": {"up": "p1.left", "down": "buffer", "name": "Siding"},
            "road-1": {"up": "p1.right", "down": "buffer"},
        },
        "points": {"p1": {"normal": "left"}},
        "platforms": {"A": {"tracks": ["road-1"], "name": "Platform 1"}},
        "signals": {
            "1": {
                "track": "line",
                "for": "down",
                "arms": [{"id": "1L", "to": "loop"}, {"id": "1R", "to": "A"}],
            },
            "2": {"track": "road-1", "for": "up", "arms": [{"id": "2"}]},
            "3": {"track": "loop", "for": "up", "arms": [{"id": "3"}]},
        },
    }


def _findings(pointer: str, value: object) -> tuple[Finding, ...]:
    data = _plan()
    *above, last = pointer.split("/")[1:]
    box: Any = data
    for part in above:
        box = box[int(part)] if isinstance(box, list) else box[part]
    if isinstance(box, list):
        box[int(last)] = value
    else:
        box[last] = value
    return check_content(json.dumps(data), "plan").findings


TO = "/signals/1/arms/1/to"


@pytest.mark.parametrize(
    ("pointer", "value", "fix", "instead"),
    [
        (TO, "platform 1", 'Write "A".', '"A"'),
        (TO, "Platform 1 (A)", 'Write "A".', '"A"'),
        (TO, "platform A", 'Write "A".', '"A"'),
        (TO, "track loop", 'Write "loop".', '"loop"'),
        (TO, "road 1", 'Write "road-1".', '"road-1"'),
        (TO, "points p1", "Write the id of a track, a platform or a yard.", None),
        ("/signals/2/track", "the main line", "Write the id of a track.", None),
        ("/platforms/A/tracks/0", "track road-1", 'Write "road-1".', '"road-1"'),
        ("/worked_together", [["points p1", "p1"]], 'Write "p1".', '"p1"'),
        ("/levers", {"1": {"arms": ["signal 2"]}}, 'Write "2".', '"2"'),
    ],
)
def test_a_name_or_a_kind_and_an_id_name_the_thing(
    pointer: str, value: object, fix: str, instead: str | None
) -> None:
    (found,) = _findings(pointer, value)
    assert (found.rule, found.fix, found.instead) == ("bad-id", fix, instead)


def test_two_things_of_one_name_are_both_offered() -> None:
    data = _plan()
    data["platforms"]["1"] = {"tracks": ["loop"]}
    data["signals"]["1"]["arms"][1]["to"] = "platform 1"
    (found,) = check_content(json.dumps(data), "plan").findings
    assert found == Finding(
        "bad-id",
        "error",
        "/signals/1/arms/1/to",
        'to of arm 1R of signal 1 cannot be "platform 1": it has a space in it.',
        found.why,
        'Write "A" or "1".',
        ("1",),
        line=1,
        column=found.column,
    )


def test_a_name_of_one_word_is_understood_too() -> None:
    found = _findings("/signals/1/arms/0/to", "siding")[0]
    assert (found.rule, found.instead) == ("unknown-reference", '"loop"')
    assert found.fix.startswith("Write loop ")


DISC = 'Write "kind": "shunt" here and "form": "disc" in the signal.'
STOP = 'Write "stop". List the use of the signal in its "duties".'


@pytest.mark.parametrize(
    ("pointer", "value", "fix", "instead"),
    [
        ("/signals/2/arms/0/kind", "disc", DISC, None),
        ("/signals/2/arms/0/kind", "Home", STOP, '"stop"'),
        ("/signals/2/arms/0/kind", "starter", STOP, '"stop"'),
        ("/signals/2/arms/0/kind", "semaphore", 'Write "stop".', '"stop"'),
        (
            "/signals/2/arms/0/kind",
            "ground signal",
            'Write "kind": "shunt" here and "mount": "ground" in the signal.',
            None,
        ),
        ("/signals/2/form", "semaphore", 'Write "upper-quadrant" or "lower-quadrant".', None),
        ("/signals/2/form", "light", 'Write "colour-light".', '"colour-light"'),
        ("/signals/2/mount", "pole", 'Write "post".', '"post"'),
        ("/tracks/line/running", "two way", 'Write "both".', '"both"'),
        ("/points/p1/kind", "3-way", 'Write "three-way".', '"three-way"'),
        (
            "/points/p1/kind",
            "slip",
            'Put it under "crossings", with its kind of slip there.',
            None,
        ),
    ],
)
def test_words_of_the_trade(pointer: str, value: str, fix: str, instead: str | None) -> None:
    (found,) = _findings(pointer, value)
    assert (found.rule, found.why, found.fix, found.instead) == (
        "wrong-value",
        ONLY_WORDS,
        fix,
        instead,
    )


@pytest.mark.parametrize(("pointer", "value"), [("/signals/2/for", "eastbound")])
def test_directions_are_explained(pointer: str, value: str) -> None:
    (found,) = _findings(pointer, value)
    assert found.fix.startswith('Write "down" for trains that run from the up end')
    assert found.instead is None


@pytest.mark.parametrize(
    ("written", "instead"), [("900 mm", "900"), ("90cm", "900"), ("1,600 mm", "1600")]
)
def test_lengths_with_units(written: str, instead: str) -> None:
    (found,) = _findings("/tracks/loop/length_mm", written)
    assert (found.rule, found.fix, found.instead) == (
        "wrong-type",
        f"Write {instead}: lengths are in millimetres.",
        instead,
    )


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1.5 m", 1500),
        ("16,5 mm", 16.5),
        ("3 ft", 914.4),
        ("2 in.", 50.8),
        ("2 miles", None),
        ("", None),
        ("about 9", None),
    ],
)
def test_length_in_mm(text: str, mm: float | None) -> None:
    assert length_in_mm(text) == mm


def test_nothing_is_meant_by_a_text_that_names_nothing() -> None:
    kinds = ("tracks",)
    assert Meanings([Thing("tracks", "a", "")]).ids("", kinds) == []
    assert Meanings([Thing("tracks", "a", "loop-line")]).ids("Loop line", kinds) == ["a"]
    assert Meanings([Thing("points", "a", "loop-line")]).ids("Loop line", kinds) == []
