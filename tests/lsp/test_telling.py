"""What is told of what stands at a place: held against the locking table and the schema."""

from __future__ import annotations

import re

import pytest

from lsp.client import ROOT
from lsp.plans import EXAMPLES, FULL, KELPIE, checked, with_cursor
from trappoint import check
from trappoint.core.findings import CAUTION_SHORT
from trappoint.lsp.document_state import CheckedText, check_text
from trappoint.lsp.hover import tell, tell_thing
from trappoint.lsp.names import LiveText
from trappoint.model.settings import DEFAULTS
from trappoint.source.files import files_beside

KNOWN = checked(KELPIE)


def told(old: str, new: str, known: CheckedText = KNOWN, text: str = KELPIE) -> str:
    sketch, offset = with_cursor(text, old, new)
    found = tell(sketch, offset, known)
    return found.text if found else ""


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_an_arm_is_told_all_that_the_table_has_of_it(name: str) -> None:
    text = EXAMPLES[name]
    known = checked(text)
    assert known.arms
    for entry in known.arms:
        said = tell_thing(LiveText(text), ("arms", entry.arm), known)
        assert entry.meaning in said
        for conflict in entry.conflicts:
            assert re.search(rf"off with [^\n]*\b{re.escape(conflict.arm)}\b", said)
        for duty in entry.duties:
            assert duty in said
        for route in entry.routes:
            for points, lie in route.points.items():
                assert f"{points} {lie}" in said


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_points_are_told_who_needs_them_how(name: str) -> None:
    text = EXAMPLES[name]
    known = checked(text)
    sketch = LiveText(text)
    for points in sketch.ids("points"):
        said = tell_thing(sketch, ("points", points), known)
        for entry in known.arms:
            for route in entry.routes:
                if points in route.points:
                    lie = route.points[points]
                    assert re.search(
                        rf"needed {lie}[^\n]* by [^\n]*\b{re.escape(entry.arm)}\b", said
                    )


def test_the_whole_of_an_arm() -> None:
    """As the design of the format has Kelpie Quay: 1L and 1R part at p1; 5 comes the other way."""
    assert told('"id": "1L"', '"id": "1|L"').splitlines()[:3] == [
        "**arm 1L** of signal 1: stop",
        "- Gives leave to run from town-line to loop-west (platform B), as far as signal 4.",
        "- needs p1 left",
    ]


def test_a_signal_a_track_a_leg_and_a_joint() -> None:
    assert "for trains running up" in told('"6": {"track"', '"|6": {"track"')
    assert "duties: home platform B; holds siding" in told('"6": {"track"', '"|6": {"track"') or (
        "holds siding" in told('"6": {"track"', '"|6": {"track"')
    )
    assert "signals: 6 (up)" in told('"siding":', '"sid|ing":')
    assert told('"p1.toe"', '"p1.to|e"') == told('"p1.toe"', '"p|1.toe"')
    joint = KELPIE.replace('"down": "buffer"', '"down": "joint:quay"')
    assert "the down end of siding" in told('"joint:quay"', '"joint:qu|ay"', KNOWN, joint)
    assert "no second track end" in told('"joint:quay"', '"joint:qu|ay"', KNOWN, joint)


def test_the_verdict_has_the_caution_with_it() -> None:
    said = told('"title"', '"tit|le"')
    assert "The plan holds, for trains up to 610 mm (siding): no two trains can be" in said
    assert CAUTION_SHORT in said
    assert told('"title"', '"tit|le"', CheckedText()) == "What the layout is called."


def test_a_key_and_a_word_are_told_what_the_schema_says_of_them() -> None:
    assert told('"mount"', '"mou|nt"').startswith("What carries the arms.")
    assert told('"bracket"', '"bra|cket"').startswith("What carries the arms.")
    assert told('"length_mm": 1450', '"length_mm": 14|50') == (
        "How long the track is, in millimetres."
    )


def test_a_rule() -> None:
    text = KELPIE.replace('"title"', '"accept": [{"rule": "unheld-exit", "at": "siding"}], "title"')
    said = told('"unheld-exit"', '"unheld|-exit"', KNOWN, text)
    assert said.startswith("**unheld-exit** (error)")


def test_what_is_older_than_the_text_says_so() -> None:
    broken = KELPIE.replace('"tracks": {', '"tracks": {,')
    later = check_text(broken, "plan", DEFAULTS, KNOWN)
    said = told('"id": "1L"', '"id": "1|L"', later, broken)
    assert "Gives leave to run from town-line" in said
    assert "as the plan was when it could last be worked out" in said


def test_nothing_is_raised_anywhere() -> None:
    for text in (FULL, KELPIE):
        known = checked(text)
        sketch = LiveText(text)
        some = 0
        for offset in range(0, len(text) + 1, 5):
            some += tell(sketch, offset, known) is not None
            tell(LiveText(text[:offset]), offset, known)
        assert some > 100


def test_what_stands_on_a_board_is_told_as_it_is_in_the_whole() -> None:
    path = ROOT / "examples" / "nixie-vale" / "spring.layout.json"
    text = path.read_text("utf-8")
    files = files_beside(str(path))
    known = check_text(text, str(path), DEFAULTS, CheckedText(), files)
    table = check(path).table
    assert table is not None
    (entry,) = [entry for entry in table.arms if entry.arm == "town/S1"]
    said = told("town/S1", "town/S|1", known, text)
    assert entry.meaning in said
    assert said.startswith("**arm town/S1** of signal town/start-1: stop")
    assert told("crossing/north", "crossing/nor|th", known, text).startswith(
        "**track crossing/north**"
    )
    # The board itself, before the slash; and as before, where nothing could be worked out.
    assert told("town/S1", "to|wn/S1", known, text).startswith("**board town**")
    assert told("town/S1", "town/S|1", CheckedText(), text).startswith("**board town**")
