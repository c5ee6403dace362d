"""The line and column of every value and key match a plain walk through the text."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trappoint.core.findings import Finding, pointer_to
from trappoint.core.resources import read_resource
from trappoint.source.positions import Lines, locate, parts_of, place_findings

TEXT = """{
  "tracks": {
    "é😀": {"up": "buffer", "down" : [1, {"a/b": 2,
      "m~n": null}]}
  },
  "": {"": true}
}"""


@pytest.mark.parametrize(
    ("pointer", "value", "key"),
    [
        ("", (1, 1), (1, 1)),
        ("/tracks", (2, 13), (2, 3)),
        ("/tracks/é😀", (3, 11), (3, 5)),
        ("/tracks/é😀/up", (3, 18), (3, 12)),
        ("/tracks/é😀/down", (3, 37), (3, 28)),
        ("/tracks/é😀/down/0", (3, 38), (3, 38)),
        ("/tracks/é😀/down/1/a~1b", (3, 49), (3, 42)),
        ("/tracks/é😀/down/1/m~0n", (4, 14), (4, 7)),
        ("/", (6, 7), (6, 3)),
        ("//", (6, 12), (6, 8)),
        # A pointer to nothing is marked at its nearest existing parent.
        ("/tracks/é😀/length_mm", (3, 11), (3, 11)),
        ("/tracks/é😀/up/deeper/still", (3, 18), (3, 18)),
        ("/tracks/é😀/down/2", (3, 37), (3, 37)),
        ("/tracks/é😀/down/x", (3, 37), (3, 37)),
        ("/nowhere", (1, 1), (1, 1)),
    ],
)
def test_places(pointer: str, value: tuple[int, int], key: tuple[int, int]) -> None:
    assert locate(TEXT, [pointer]) == {pointer: value}
    assert locate(TEXT, [pointer], at_keys=True) == {pointer: key}


def test_all_at_once_is_the_same_as_one_by_one() -> None:
    pointers = ["/nowhere", "/tracks/é😀/down/1/m~0n", "", "/tracks/é😀/up", "/tracks", "//"]
    assert locate(TEXT, pointers) == {p: locate(TEXT, [p])[p] for p in pointers}
    assert locate(TEXT, []) == {}


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_kind_of_line_end_counts_once(end: str) -> None:
    text = end.join(["{", '"a":', " [1,", "  2]}"])
    assert locate(text, ["/a", "/a/1"]) == {"/a": (3, 2), "/a/1": (4, 3)}
    lines = Lines(text)
    assert [lines.line(n) for n in range(6)] == ["", "{", '"a":', " [1,", "  2]}", ""]


def test_other_characters_that_end_lines_elsewhere_do_not_here() -> None:
    text = '{"a": "\u2028\u0085", "b": 1}'
    assert locate(text, ["/b"]) == {"/b": (1, 18)}
    assert Lines(text).line(1) == text


def test_lines_are_found_in_any_order() -> None:
    lines = Lines("a\nbc\n\nd")
    assert [lines.place(n) for n in (6, 0, 3, 2, 4, 5)] == [
        (4, 1),
        (1, 1),
        (2, 2),
        (2, 1),
        (2, 3),
        (3, 1),
    ]


def test_findings_are_placed_and_keep_their_order() -> None:
    findings = [
        Finding("b", "error", "/tracks/é😀/up", "value"),
        Finding("a", "error", "/tracks/é😀/up", "key", at_key=True),
        Finding("c", "note", "/x", "placed before", line=7, column=9),
        Finding("d", "warning", "/tracks/é😀/down/1", "entry of a list", at_key=True),
    ]
    placed = place_findings(TEXT, findings)
    assert [(f.rule, f.line, f.column) for f in placed] == [
        ("b", 3, 18),
        ("a", 3, 12),
        ("c", 7, 9),
        ("d", 3, 41),
    ]
    assert [f.message for f in placed] == [f.message for f in findings]
    assert place_findings("not JSON at all", [findings[2]]) == (findings[2],)


def _walk(
    text: str, at: int, path: tuple[str | int, ...], found: dict[str, tuple[int, int]]
) -> int:
    """Record the offsets of every key and value below ``at``; return the end of the value."""

    def blank(at: int) -> int:
        while text[at] in " \t\n\r":
            at += 1
        return at

    def scalar(at: int) -> int:
        if text[at] != '"':
            while at < len(text) and text[at] not in " \t\n\r,]}":
                at += 1
            return at
        at += 1
        while text[at] != '"':
            at += 2 if text[at] == "\\" else 1
        return at + 1

    if text[at] not in "{[":
        return scalar(at)
    is_object = text[at] == "{"
    at = blank(at + 1)
    index = 0
    while text[at] not in "}]":
        key_at, part = at, str(index)
        if is_object:
            after = scalar(at)
            part = json.loads(text[at:after])
            at = blank(blank(after) + 1)
        pointer = pointer_to(*path, part)
        found[pointer] = (key_at, at)
        at = blank(_walk(text, at, (*path, part), found))
        if text[at] == ",":
            at = blank(at + 1)
        index += 1
    return at + 1


def _place(text: str, offset: int) -> tuple[int, int]:
    before = text[:offset].split("\n")
    return len(before), len(before[-1]) + 1


VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text('ab/~01"\\é😀\n{}[],:', max_size=5),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text('ab/~01"\\é{', max_size=3), inner, max_size=4)
    ),
    max_leaves=25,
)


@given(VALUES, st.sampled_from([None, 0, 2]), st.booleans(), st.data())
def test_places_agree_with_a_walk_through_the_text(
    value: object, indent: int | None, ascii_only: bool, data: st.DataObject
) -> None:
    text = json.dumps(value, indent=indent, ensure_ascii=ascii_only)
    offsets: dict[str, tuple[int, int]] = {"": (0, 0)}
    _walk(text, 0, (), offsets)
    wanted = data.draw(st.lists(st.sampled_from(sorted(offsets)), unique=True))
    assert locate(text, wanted) == {p: _place(text, offsets[p][1]) for p in wanted}
    assert locate(text, wanted, at_keys=True) == {p: _place(text, offsets[p][0]) for p in wanted}


@given(st.lists(st.text("ab/~01", max_size=4), max_size=4))
def test_pointers_are_split_as_they_were_joined(parts: list[str]) -> None:
    assert parts_of(pointer_to(*parts)) == parts


def test_pointers_of_rfc_6901() -> None:
    # RFC 6901 section 5: the pointers "", /foo, /foo/0, /, /a~1b, /m~0n and what they lead to.
    text = '{"foo": ["bar", "baz"], "": 0, "a/b": 1, "m~n": 8}'
    places = locate(text, ["", "/foo", "/foo/0", "/", "/a~1b", "/m~0n"])
    assert {p: text[column - 1] for p, (_, column) in places.items()} == {
        "": "{",
        "/foo": "[",
        "/foo/0": '"',
        "/": "0",
        "/a~1b": "1",
        "/m~0n": "8",
    }


def test_the_demonstration_plan() -> None:
    text = read_resource("kelpie-quay.layout.json")
    lines = text.split("\n")
    places = locate(text, ["/signals/7/arms/1/to", "/points/p1/normal"])
    for pointer, value in (
        ("/signals/7/arms/1/to", '"loop-west"'),
        ("/points/p1/normal", '"right"'),
    ):
        line, column = places[pointer]
        assert lines[line - 1][column - 1 :].startswith(value)
