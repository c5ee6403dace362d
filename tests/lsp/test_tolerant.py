"""Reading broken JSON; for valid JSON, the same result as the standard library."""

from __future__ import annotations

import json
import re

import pytest
from hypothesis import given, settings

from amount import amount
from lsp.plans import EXAMPLES, FULL, KELPIE, some
from tidy.documents import Json, documents
from trappoint.lsp.names import LiveText
from trappoint.source.tolerant_json import JsonNode, read_tolerantly, spot_at, to_data


def nodes(node: JsonNode) -> list[JsonNode]:
    found = [node]
    for member in node.members:
        found += [member.key, *(nodes(member.value) if member.value else [])]
    for item in node.items:
        found += nodes(item)
    return found


@settings(max_examples=amount(25, long=1000), deadline=None)
@given(documents())
def test_what_is_not_broken_is_read_as_the_standard_library_reads_it(document: Json) -> None:
    for text in (json.dumps(document), json.dumps(document, indent=2, ensure_ascii=False)):
        assert to_data(read_tolerantly(text)) == json.loads(text)


@pytest.mark.parametrize("text", [*EXAMPLES.values(), FULL])
def test_every_part_stands_where_it_is_said_to(text: str) -> None:
    root = read_tolerantly(text)
    assert to_data(root) == json.loads(text)
    for node in nodes(root):
        part = text[node.start : node.end]
        if node.kind == "text":
            assert json.loads(part) == node.text
            assert text[slice(*node.inner)] == part[1:-1]
        elif node.kind == "word":
            assert part == node.text
        else:
            assert json.loads(part) == to_data(node)


def test_a_text_cut_off_anywhere_keeps_all_that_stood_before() -> None:
    """Complete values before the cut are read as in the whole text."""
    whole = json.loads(KELPIE)
    for cut in range(0, len(KELPIE), amount(3, long=1)):
        data = to_data(read_tolerantly(KELPIE[:cut]))
        if not isinstance(data, dict):
            assert cut <= KELPIE.index("{") + 1
            continue
        tracks = data.get("tracks")
        for name, track in tracks.items() if isinstance(tracks, dict) else ():
            if name not in whole["tracks"]:
                continue  # half of its name is written
            end = KELPIE.find("}", KELPIE.index(f'"{name}":')) + 1
            if end <= cut:
                assert track == whole["tracks"][name]


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_a_bracket_left_out_spoils_no_more_than_what_it_closed(name: str) -> None:
    """The following lines are read correctly, because of their indentation."""
    text = EXAMPLES[name]
    whole = json.loads(text)
    brackets = [found.start() for found in re.finditer("}(?=,\n)", text)]
    assert len(brackets) > 5
    for at in some(brackets, 30):
        data = to_data(read_tolerantly(text[:at] + text[at + 1 :]))
        assert data.keys() == whole.keys()
        for kind in ("tracks", "points", "signals"):
            assert data[kind].keys() == whole[kind].keys(), text[at - 60 : at]


@pytest.mark.parametrize(
    ("broken", "read"),
    [
        ('{"a": {"up": "p1.', {"a": {"up": "p1."}}),
        ('{"a": {"up": }, "b": 1}', {"a": {"up": None}, "b": 1}),
        ('{"a": {"up" }, "b": 1}', {"a": {"up": None}, "b": 1}),
        ('{"a": {"up": "x" "down": "y"}}', {"a": {"up": "x", "down": "y"}}),
        ('{"a": "x, "b": "y"}', {"a": "x", "b": "y"}),
        ('{"a": "x\n "b": "y"}', {"a": "x", "b": "y"}),
        ('{"z": {"a": "x}, "b": {"c": "y"}}', {"z": {"a": "x"}, "b": {"c": "y"}}),
        ('{"a": [1, 2, "b": 3}', {"a": [1, 2, "b", 3]}),
        ('{"a": {"b": [1}, "c": 2}', {"a": {"b": [1]}, "c": 2}),
        ('{"a": 1,, "b": 2,}', {"a": 1, "b": 2}),
        ('{"a": 1]}', {"a": 1}),
        ("{up: 1}", {"up": 1}),
        ("", {}),
        ("[1", [1]),
    ],
)
def test_broken_texts(broken: str, read: Json) -> None:
    assert to_data(read_tolerantly(broken)) == read


def test_nothing_is_too_deep_or_too_strange() -> None:
    for text in ("[" * 100_000, '{"a":' * 10_000, "}" * 50, '"\\', '{"\\u12": "\ud800"}', "\x00"):
        LiveText(text).names  # noqa: B018 - that nothing is raised is all
        spot_at(read_tolerantly(text), 3)


def test_a_long_plan_is_read_in_a_time_that_grows_with_its_length() -> None:
    """Each character is read a few times at most, however many quotes a line has."""
    line = '{"a": ' + "[" + ", ".join(f'"x{n}" "y"' for n in range(20_000)) + "]}"
    assert len(read_tolerantly(line).members) == 1
