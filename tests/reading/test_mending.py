"""Slips such as comments and extra commas hide no other mistake in the text."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trappoint.checking.check import check_content
from trappoint.core.findings import Finding
from trappoint.parts.store_reading import read_store
from trappoint.source.files import FilesAtHand
from trappoint.source.json_diagnosis import MAX_FINDINGS, MAX_SLIPS, find_mistakes
from trappoint.source.mending import mend

if TYPE_CHECKING:
    from collections.abc import Callable

EXAMPLES = Path(__file__).parents[2] / "examples"


def _bad_plan() -> str:
    """Return the text of an example with several mistakes of form, one entry in each line."""
    data: dict[str, Any] = json.loads((EXAMPLES / "kelpie-quay.layout.json").read_text("utf-8"))
    for number, track in enumerate(data["tracks"].values()):
        if number < 2:
            track["lenght_mm"] = 900
        if number == 3:
            track["running"] = "sideways"
    return json.dumps(data, indent=1)


def _unheld_plan() -> str:
    """Return the text of a valid plan that does not hold: one signal is missing."""
    data: dict[str, Any] = json.loads((EXAMPLES / "kelpie-quay.layout.json").read_text("utf-8"))
    del data["signals"][next(iter(data["signals"]))]
    return json.dumps(data, indent=1)


def _without_slips(findings: tuple[Finding, ...]) -> list[Finding]:
    return [finding for finding in findings if finding.rule != "not-json"]


def _comment_lines(text: str, at: list[int]) -> str:
    return "\n".join(
        line + (" // a comment, with 'quotes' and \"more\"" if number in at else "")
        for number, line in enumerate(text.split("\n"))
    )


def _block_comments(text: str, at: list[int]) -> str:
    return "\n".join(
        line + (" /* a } */" if number in at else "")
        for number, line in enumerate(text.split("\n"))
    )


def _commas(text: str, at: list[int]) -> str:
    lines = text.split("\n")
    for number in range(len(lines) - 1):
        nxt = lines[number + 1].strip()
        if number in at and nxt[:1] in ("}", "]") and lines[number].strip()[-1] not in "{[":
            lines[number] += ","
    return "\n".join(lines)


def _bare_keys(text: str, at: list[int]) -> str:
    return "\n".join(
        re.sub(r'^( *)"(\w+)":', r"\1\2:", line) if number in at else line
        for number, line in enumerate(text.split("\n"))
    )


def _single_quotes(text: str, at: list[int]) -> str:
    return "\n".join(
        re.sub(r'^( *)"([\w-]+)":', r"\1'\2':", line) if number in at else line
        for number, line in enumerate(text.split("\n"))
    )


PLANS = (_bad_plan(), _unheld_plan())
SLIPS = [_comment_lines, _block_comments, _commas, _bare_keys, _single_quotes]


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(PLANS), st.sampled_from(SLIPS), st.lists(st.integers(0, 150), max_size=6))
def test_slips_hide_no_other_finding(
    text: str, slip: Callable[[str, list[int]], str], at: list[int]
) -> None:
    slipped = slip(text, at)
    before, after = check_content(text, "plan"), check_content(slipped, "plan")
    others = _without_slips(after.findings)
    places = [(f.rule, f.pointer, f.message, f.line) for f in before.findings]
    assert len(places) > 0
    assert [(f.rule, f.pointer, f.message, f.line) for f in others] == places
    if slipped != text:
        assert after.holds is None
        assert len(after.findings) > len(others)
    for own, finding in zip(before.findings, others, strict=True):
        mark = slipped.split("\n")[finding.line - 1][finding.column - 1 :]
        meant = text.split("\n")[own.line - 1][own.column - 1 :]
        assert mark.lstrip("'\"")[:1] == meant.lstrip('"')[:1]


@pytest.mark.parametrize(
    ("text", "mended"),
    [
        ("{a: 1, // one\n'b': [2, 3,],}", '{"a": 1,       \n"b": [2, 3 ] }'),
        ("{“a” = True; b: main}", '{"a" : true, "b": "main"}'),
        ('{"a": 90cm, "b": 900 mm\n "c": .5}', '{"a": 900, "b": 900,\n "c": 0.5}'),
        ('{"a": 1 /* x\n y */, "b": 007}', '{"a": 1     \n     , "b": 7}'),
        ('{"a": 1}', None),
        ('{"a": yes, // x\n}', '{"a": yes      \n}'),
        ('{"a": 1, /* never closed', None),
    ],
)
def test_what_a_slip_means(text: str, mended: str | None) -> None:
    found = mend(text)
    assert (None if found is None else found.text.split()) == (mended and mended.split())


def test_all_slips_are_reported_with_the_mistakes_behind_them() -> None:
    text = """{
  // The plan of the shed.
  "format": "trappoint-layout/1",
  tracks: {'shed': {"up": "buffer", "down": "bufer", },},
}"""
    assert [
        (f.rule, f.line, f.column, f.message) for f in check_content(text, "plan").findings
    ] == [
        ("not-json", 2, 3, "JSON has no comments."),
        ("not-json", 4, 3, "The key tracks must stand in double quotes."),
        ("not-json", 4, 12, "Text must stand in double quotes, not in single ones."),
        (
            "bad-track-end",
            4,
            45,
            'down of track shed is "bufer", which is no track end.',
        ),
        ("not-json", 4, 52, "There is a comma after the last entry."),
        ("not-json", 4, 55, "There is a comma after the last entry."),
        ("not-json", 4, 57, "There is a comma after the last entry."),
    ]


def test_very_many_slips_end_the_reading_and_few_are_reported() -> None:
    many = "[" + "1,\n//\n" * (MAX_SLIPS + 1) + "1, NaN]"
    assert len(find_mistakes(many)) == MAX_FINDINGS
    assert [f.rule for f in find_mistakes(many)][-1] == "not-json"
    fewer = "[" + "1,\n//\n" * MAX_SLIPS + "1, NaN]"
    assert [f.rule for f in find_mistakes(fewer)][-1] == "not-a-number"


def _bad_store() -> str:
    """Return the text of a store with several mistakes, one entry in each line."""
    data: dict[str, Any] = json.loads((EXAMPLES / "kelpie-quay.store.json").read_text("utf-8"))
    data["parts"]["post"]["ownd"] = data["parts"]["post"].pop("owned")
    data["shops"]["tin-box"]["postage"] = "3,20"
    return json.dumps(data, indent=1)


@pytest.mark.parametrize("slip", [_comment_lines, _block_comments, _commas, _bare_keys])
def test_slips_in_a_store_hide_nothing(slip: Callable[[str, list[int]], str]) -> None:
    text = _bad_store()
    expected = read_store(text, "a").findings
    assert {finding.rule for finding in expected} == {"unknown-key", "bad-form"}
    spoilt = slip(text, list(range(3, text.count("\n"))))
    report = read_store(spoilt, "a")
    assert report.store is None and len(report.findings) > len(expected)
    rest = [f for f in report.findings if f.rule != "not-json"]
    assert [(f.line, f.rule, f.message) for f in rest] == [
        (f.line, f.rule, f.message) for f in expected
    ]
    for finding in rest:
        given = spoilt.split("\n")[finding.line - 1][finding.column - 1 :]
        assert given.startswith(('"ownd"', "ownd", '"3,20"')), given


def test_slips_in_a_board_hide_no_mistake_of_the_whole() -> None:
    """A board with comments, and a join that names an edge wrongly: both are found."""
    east = {
        "format": "trappoint-layout/1",
        "tracks": {"line": {"up": "edge:hall", "down": "edge:door"}},
    }
    text = json.dumps(east, indent=1).replace('"line": {', '"line": { // ours')
    whole = {
        "format": "trappoint-layout/1",
        "tracks": {},
        "boards": {"east": {"plan": "east.layout.json"}},
        "joins": [{"a": "east:hal", "b": "east:door"}],
    }
    sound = FilesAtHand({"east.layout.json": json.dumps(east, indent=1)})
    files = FilesAtHand({"east.layout.json": text})
    expected = check_content(json.dumps(whole, indent=1), "whole", files=sound)
    report = check_content(json.dumps(whole, indent=1), "whole", files=files)
    assert report.holds is None
    (cannot,) = [f for f in report.findings if f.rule == "board-not-a-plan"]
    assert "JSON has no comments" in cannot.message
    assert [f for f in report.findings if f is not cannot] == list(expected.findings)
    assert expected.findings
