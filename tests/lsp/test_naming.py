"""The table of names, tested against the schema and against the rules."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest

from lsp.plans import EXAMPLES, FULL
from trappoint.core.kinds import NAMED_BY_KEY
from trappoint.lsp.names import LiveText
from trappoint.model.building import build_layout
from trappoint.model.references import Path, mentions
from trappoint.rules.references import _MAPS, _references
from trappoint.schema.published import layout_schema

NAMING = (
    "id",
    "reference",
    "one_or_more",
    "end",
    "place",
    "board_edge",
    "lever_number",
    "whereabouts",
)
"""The parts of the schema for texts that are names or contain one."""

SAMPLES = {"end": "p1.toe", "place": "/tracks/main", "board_edge": "west:main"}


def named_by_schema(schema: dict[str, Any], path: Path = ()) -> Iterator[tuple[Path, bool, str]]:
    """Yield the names in the schema: path, whether the name is a key, and its definition."""
    if "$ref" in schema:
        part = schema["$ref"].rsplit("/", 1)[-1]
        if part in NAMING:
            yield path, False, part
            if part != "one_or_more":
                return
        schema = layout_schema()["$defs"][part]
    for key, below in schema.get("properties", {}).items():
        yield from named_by_schema(below, (*path, key))
    if "propertyNames" in schema and path[-1:] != ("curves",):  # its keys are legs, not names
        yield (*path, "x"), True, schema["propertyNames"]["$ref"].rsplit("/", 1)[-1]
    if isinstance(schema.get("items"), dict):
        yield from named_by_schema(schema["items"], (*path, 0))
    if isinstance(schema.get("additionalProperties"), dict):
        yield from named_by_schema(schema["additionalProperties"], (*path, "x"))


def test_every_name_of_the_schema_is_in_the_table() -> None:
    found = list(named_by_schema(layout_schema()))
    assert len(found) > 30
    for path, at_key, part in found:
        text = "x" if at_key else SAMPLES.get(part, "x")
        assert list(mentions(path, text, at_key=at_key)), (path, part)


def test_nothing_else_is() -> None:
    known = {(path, at_key) for path, at_key, _ in named_by_schema(layout_schema())}
    more = {
        (("signals", "x", "duties", 0), False),  # words; the last one is a name
        (("scenes", "x", "trains", "x"), False),  # an id, or true
        (("sessions", "x", "trains", "x"), False),
        (("accept", 0, "rule"), False),
    }
    for text in (FULL, *EXAMPLES.values()):
        for name in LiveText(text).names:
            # What stands in place of ids in the ways of the schema.
            path = tuple(0 if isinstance(part, int) else part for part in name.path)
            at_key = not isinstance(path[-1], int) and not _is_value(text, name.path, name.whole)
            ways = [_with_x(path, index) for index in range(1 << len(path))]
            assert any((way, at_key) in known | more for way in ways), name


def _is_value(text: str, path: Path, whole: tuple[int, int]) -> bool:
    return not text[whole[1] :].lstrip().startswith(":")


def _with_x(path: Path, mask: int) -> Path:
    return tuple("x" if mask >> n & 1 and part != 0 else part for n, part in enumerate(path))


@pytest.mark.parametrize("text", [*EXAMPLES.values(), FULL])
def test_references_are_those_that_the_rules_look_up(text: str) -> None:
    """The rules read the plan as built, this table the text."""
    kinds = {**_MAPS, "arm": "arms", "slip": "crossings"}
    data = json.loads(text)
    sketch = LiveText(text)
    found: dict[tuple[tuple[str, ...], bool, str], tuple[str, ...]] = {}
    for name in sketch.names:
        at_key = text[name.whole[1] :].lstrip().startswith(":")
        found[tuple(map(str, name.path)), at_key, name.name] = name.kinds
    count = 0
    for reference in _references(build_layout(data)):
        path = tuple(map(str, reference.where))
        if (
            path[-1].isdigit()
            and path[-2] in ("to", "repeats", "via")
            and _is_text(data, path[:-1])
        ):
            path = path[:-1]
        board, slash, _ = reference.name.removeprefix("edge:").partition("/")
        if slash:
            assert found[path, reference.at_key, board] == ("boards",)
            continue
        if reference.name.startswith("edge:"):
            assert found[path, reference.at_key, reference.name[5:]] == ("edges",)
            continue
        expected = tuple(kinds[kind] for kind in reference.kinds if kind != "edge")
        assert found[path, reference.at_key, reference.name] == expected, reference
        count += 1
    assert count > 10


def _is_text(data: Any, path: tuple[str, ...]) -> bool:
    for part in path:
        data = data[int(part)] if isinstance(data, list) else data[part]
    return isinstance(data, str)


def test_ids_stand_in_every_map_but_the_lists() -> None:
    maps = [key for key, part in layout_schema()["properties"].items() if "propertyNames" in part]
    # The map of edges has the names that the tracks give them.
    assert sorted(maps) == sorted([*NAMED_BY_KEY, "edges"])


@pytest.mark.parametrize(
    ("path", "text", "named"),
    [
        (("tracks", "m", "up"), "p1.left", ["p1", "p1.left"]),
        (("tracks", "m", "up"), "joint:x", ["x"]),
        (("tracks", "m", "up"), "edge:x", ["x"]),
        (("tracks", "m", "up"), "buffer", []),
        (("accept", 0, "at"), "/signals/6", ["6"]),
        (("accept", 0, "at"), "/scenes/s/trains/main", ["s", "main"]),
        (("accept", 0, "at"), "/signals/6/arms/0/expects/p1", ["6", "p1"]),
        (("accept", 0, "at"), "/tracks/west~1m", ["west"]),
        (("accept", 0, "at"), "siding", ["siding"]),
        (("signals", "1", "duties", 0), "starter platform A", ["A"]),
        (("joins", 0, "a"), "west:main", ["west"]),
        (("platforms", "A", "tracks", 0), "west/yard/p1", ["west"]),
        (("tracks", "m", "note"), "p1.left", []),
    ],
)
def test_names_within_texts(path: Path, text: str, named: list[str]) -> None:
    found = list(mentions(path, text))
    assert [mention.name for mention in found] == named
    for mention in found:
        assert mention.name.endswith(text[mention.start : mention.end])
