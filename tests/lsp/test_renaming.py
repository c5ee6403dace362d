"""Renaming, tested against the comparison, which matches things by their place."""

from __future__ import annotations

import json
import re

import pytest

from amount import amount
from lsp.plans import EXAMPLES, FULL, KELPIE, checked, some
from trappoint.comparing.comparison import compare
from trappoint.comparing.sides import read_side
from trappoint.fixing.text_fixes import Edit
from trappoint.lsp.names import Key, LiveText, Name
from trappoint.lsp.renaming import RefusedError, renamable, rename
from trappoint.model.settings import DEFAULTS


def done(text: str, edits: list[Edit]) -> str:
    for edit in sorted(edits, reverse=True):
        text = text[: edit.start] + edit.text + text[edit.end :]
    return text


def things(text: str) -> list[tuple[Key, Name]]:
    sketch = LiveText(text)
    return [(key, names[-1]) for key, names in sketch.used.items() if sketch.known(key)]


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_nothing_but_the_name_changes(name: str) -> None:
    text = EXAMPLES[name]
    known = checked(text)
    for key, use in some(things(text), amount(8, long=25)):
        kind, called = key
        new = "77" if kind == "levers" else "new-name"
        after = done(text, rename(LiveText(text), use.start, new))
        short = called.partition(".")[2] if kind == "legs" else called
        # Every other letter is as it was, and the way back leads to the same text.
        assert after != text
        back = LiveText(after).used[
            kind, f"{called.partition('.')[0]}.{new}" if kind == "legs" else new
        ]
        assert done(after, rename(LiveText(after), back[0].start, short)) == text
        report = checked(after).report
        assert report is not None
        assert known.report is not None
        assert report.holds is known.report.holds
        assert len(report.findings) == len(known.report.findings), report.findings
        if kind not in ("legs", "boards"):
            told = compare(read_side(text, "a", DEFAULTS), read_side(after, "b", DEFAULTS))
            assert [(c.kind, c.how) for c in told.things] == [(kind, ("renamed",))], key
            assert not told.worked_otherwise


def test_every_name_of_a_full_plan() -> None:
    """Names in ends, duties, pointers, keys and lists change too."""
    for key, use in things(FULL):
        try:
            after = rename(LiveText(FULL), use.start, "77")
        except RefusedError:
            continue
        text = done(FULL, after)
        assert key not in LiveText(text).used


def test_escapes_in_a_text() -> None:
    text = KELPIE.replace('"track": "siding"', '"track": "s\\u0069ding"').replace(
        '"down": "buffer"', '"down": "joint:q\\u0075ay"'
    )
    after = done(text, rename(LiveText(text), text.index('"siding"') + 1, "quay-road"))
    assert json.loads(after)["signals"]["6"]["track"] == "quay-road"
    after = done(text, rename(LiveText(text), text.index("joint:") + 8, "pier"))
    assert json.loads(after)["tracks"]["siding"]["down"] == "joint:pier"


@pytest.mark.parametrize(
    ("at", "new", "why"),
    [
        ('"p1": {', "p2", "p2 is taken: there are points with this id."),
        ('"siding":', "A", "A is taken: there is a platform with this id."),
        ('"siding":', "main", "main is taken: there is a track with this id."),
        ('"siding":', "a b", "“a b” is not a valid id."),
        ('"siding":', "", "“” is not a valid id."),
        ('"siding":', "x" * 41, "is not a valid id."),
        ('"siding":', "ü", "“ü” is not a valid id."),
        ('"siding":', "siding", "The id is siding already."),
        ('"1L", "to"', "7R", "7R is taken: there is an arm"),
    ],
)
def test_refused_with_the_reason(at: str, new: str, why: str) -> None:
    with pytest.raises(RefusedError, match=re.escape(why)):
        rename(LiveText(KELPIE), KELPIE.index(at) + 1, new)


def test_the_id_of_a_signal_may_be_that_of_an_arm() -> None:
    """No place can name both, and most signals with one arm share its id."""
    at = KELPIE.index('"6": {') + 1
    after = done(KELPIE, rename(LiveText(KELPIE), at, "1L"))
    assert json.loads(after)["signals"]["1L"]["arms"][0]["id"] == "6"


def test_what_has_no_name_can_not_get_another() -> None:
    for at, why in (
        ('"format"', "There is no id here"),
        ("toe", "The format fixes the names of the legs"),
    ):
        with pytest.raises(RefusedError, match=why):
            renamable(LiveText(KELPIE), KELPIE.index(at) + 1)
    assert renamable(LiveText(KELPIE), KELPIE.index('p1.toe"') + 1).name == "p1"
    text = KELPIE.replace('"track": "siding"', '"track": "sidling"')
    with pytest.raises(RefusedError, match=r"^The plan has nothing with the id sidling\.$"):
        renamable(LiveText(text), text.index("sidling"))


def test_an_accepted_finding_at_a_bare_id_that_two_things_have() -> None:
    entry = '"accept": [{"rule": "unheld-exit", "at": "6", "because": "x"}], "title"'
    text = KELPIE.replace('"title"', entry).replace('"siding"', '"6"')
    with pytest.raises(RefusedError, match="write a pointer instead"):
        rename(LiveText(text), text.index('"6": {"track"') + 1, "8")
    alone = KELPIE.replace('"title"', entry)
    after = done(alone, rename(LiveText(alone), alone.index('"6": {"track"') + 1, "8"))
    assert '"at": "8"' in after
    with pytest.raises(RefusedError, match="An accepted finding is at 6, and would then mean"):
        rename(LiveText(alone), alone.index('"siding":') + 1, "6")


def test_two_arms_of_one_id() -> None:
    text = re.sub(r'"id": "1R"', '"id": "1L"', KELPIE)
    with pytest.raises(RefusedError, match="Two things have the id 1L"):
        rename(LiveText(text), text.index('"1L"') + 1, "x")
