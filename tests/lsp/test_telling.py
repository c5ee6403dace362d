"""Hover texts, tested against the locking table and the schema."""

from __future__ import annotations

import json
import re

import pytest

from amount import amount
from lsp.client import ROOT
from lsp.plans import EXAMPLES, FULL, KELPIE, checked, with_cursor
from trappoint import check
from trappoint.core.findings import CAUTION_SHORT
from trappoint.lsp.document_state import CheckedText, check_text
from trappoint.lsp.hover import tell, tell_thing
from trappoint.lsp.names import LiveText
from trappoint.lsp.schema_lookup import description_of, form_at
from trappoint.model.settings import DEFAULTS
from trappoint.schema.published import layout_schema
from trappoint.source.files import files_beside

KNOWN = checked(KELPIE)


def told(old: str, new: str, known: CheckedText = KNOWN, text: str = KELPIE) -> str:
    sketch, offset = with_cursor(text, old, new)
    found = tell(sketch, offset, known)
    return found.text if found else ""


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_the_hover_of_an_arm_has_its_row_of_the_table(name: str) -> None:
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
def test_the_hover_of_points_has_the_arms_that_need_them(name: str) -> None:
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
    """Worked out by hand: 1L and 1R part at p1; 5 comes the other way."""
    assert told('"id": "1L"', '"id": "1|L"').splitlines()[:3] == [
        "**Arm 1L** of signal 1: stop arm",
        "- Gives leave to run from town-line to loop-west (platform B), as far as signal 4.",
        "- needs p1 left",
    ]


def test_a_signal_a_track_a_leg_and_a_joint() -> None:
    assert "for trains running up" in told('"6": {"track"', '"|6": {"track"')
    assert "duties: home platform B; holds siding" in told('"6": {"track"', '"|6": {"track"') or (
        "holds siding" in told('"6": {"track"', '"|6": {"track"')
    )
    assert "signals: 6, for up trains" in told('"siding":', '"sid|ing":')
    assert told('"p1.toe"', '"p1.to|e"') == told('"p1.toe"', '"p|1.toe"')
    joint = KELPIE.replace('"down": "buffer"', '"down": "joint:quay"')
    assert "the down end of siding" in told('"joint:quay"', '"joint:qu|ay"', KNOWN, joint)
    assert "no second track end yet" in told('"joint:quay"', '"joint:qu|ay"', KNOWN, joint)


def test_the_verdict_has_the_caution_with_it() -> None:
    said = told('"title"', '"tit|le"')
    assert "The plan holds, for trains up to 610 mm (siding): no two trains can be" in said
    assert CAUTION_SHORT in said
    assert told('"title"', '"tit|le"', CheckedText()) == description_of(form_at(("title",)))


def test_the_hover_of_a_key_or_word_is_its_description() -> None:
    mount = description_of(form_at(("signals", "1", "mount")))
    assert mount and told('"mount"', '"mou|nt"') == told('"bracket"', '"bra|cket"') == mount
    length = layout_schema()["$defs"]["track"]["properties"]["length_mm"]["description"]
    assert told('"length_mm": 1450', '"length_mm": 14|50').startswith(length)


def test_a_rule() -> None:
    text = KELPIE.replace('"title"', '"accept": [{"rule": "unheld-exit", "at": "siding"}], "title"')
    said = told('"unheld-exit"', '"unheld|-exit"', KNOWN, text)
    assert said.startswith("**unheld-exit** (error)")


def test_the_hover_of_a_broken_plan_says_that_it_is_older() -> None:
    broken = KELPIE.replace('"tracks": {', '"tracks": {,')
    later = check_text(broken, "plan", DEFAULTS, KNOWN)
    said = told('"id": "1L"', '"id": "1|L"', later, broken)
    assert "Gives leave to run from town-line" in said
    assert "from the last version of the plan that could be checked" in said


def test_names_stand_before_ids() -> None:
    plan = json.loads(KELPIE)
    plan["tracks"]["loop-west"]["name"] = "Goods loop"
    plan["tracks"]["main"]["name"] = "main"
    plan["signals"]["4"]["name"] = "Loop bracket"
    plan["points"]["p3"]["name"] = "Yard points"
    text = json.dumps(plan, indent=2)
    sketch, known = LiveText(text), checked(text)
    hover = {
        key: tell_thing(sketch, key, known)
        for key in (("tracks", "loop-west"), ("tracks", "main"), ("signals", "4"), ("points", "p3"))
    }
    assert hover["tracks", "loop-west"].startswith("**Goods loop** (track loop-west): 900 mm")
    assert (
        "signals: Loop bracket (4), for down trains; 5, for up trains"
        in (hover["tracks", "loop-west"])
    )
    assert hover["tracks", "main"].startswith("**Track main**: 1,450 mm")
    assert hover["signals", "4"].startswith(
        "**Loop bracket** (signal 4): on Goods loop (loop-west)"
    )
    assert "toe: the down end of Goods loop (loop-west)" in hover["points", "p3"]
    arm = tell_thing(sketch, ("arms", "4L"), known)
    assert arm.startswith("**Arm 4L** of signal Loop bracket (4): stop arm")
    assert "(you must see to it)" in arm and "the locking sees to it" not in arm


def test_nothing_is_raised_anywhere() -> None:
    for text in (FULL, KELPIE):
        known = checked(text)
        sketch = LiveText(text)
        some = 0
        for offset in range(0, len(text) + 1, amount(11, long=5)):
            some += tell(sketch, offset, known) is not None
            tell(LiveText(text[:offset]), offset, known)
        assert some > 100


def test_the_hover_of_a_thing_on_a_board_is_from_the_assembled_plan() -> None:
    path = ROOT / "examples" / "nixie-vale" / "spring.layout.json"
    text = path.read_text("utf-8")
    files = files_beside(str(path))
    known = check_text(text, str(path), DEFAULTS, CheckedText(), files)
    table = check(path).table
    assert table is not None
    (entry,) = [entry for entry in table.arms if entry.arm == "town/S1"]
    said = told("town/S1", "town/S|1", known, text)
    assert entry.meaning in said
    assert said.startswith("**Arm town/S1** of signal town/start-1: stop arm")
    assert told("crossing/north", "crossing/nor|th", known, text).startswith(
        "**Track crossing/north**"
    )
    # The board itself, before the slash; also if no plan was assembled yet.
    assert told("town/S1", "to|wn/S1", known, text).startswith("**Board town**")
    assert told("town/S1", "town/S|1", CheckedText(), text).startswith("**Board town**")
