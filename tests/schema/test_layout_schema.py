"""The schema itself: valid, closed, fully described, and with portable patterns."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from trappoint import check
from trappoint.core.resources import read_resource
from trappoint.rules.catalogue import all_rules
from trappoint.schema.published import FORMAT, layout_schema
from trappoint.schema.validation import schema_findings

SCHEMA = layout_schema()


def _schemas(schema: Any, place: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield the place and the value of every schema inside a schema."""
    if not isinstance(schema, dict):
        return
    yield place, schema
    for keyword in ("items", "additionalProperties", "propertyNames", "not"):
        yield from _schemas(schema.get(keyword), f"{place}/{keyword}")
    for keyword in ("properties", "$defs"):
        for key, part in schema.get(keyword, {}).items():
            yield from _schemas(part, f"{place}/{keyword}/{key}")


def _properties() -> dict[str, dict[str, Any]]:
    return {
        f"{place}/properties/{key}": part
        for place, schema in _schemas(SCHEMA)
        for key, part in schema.get("properties", {}).items()
    }


def test_it_follows_the_meta_schema_of_its_draft() -> None:
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert SCHEMA["$id"] == "urn:trappoint:layout:1"
    Draft202012Validator.check_schema(SCHEMA)


def test_every_property_is_described_and_titled() -> None:
    properties = _properties()
    assert len(properties) == 144
    for place, part in properties.items():
        described = part.get("description", "")
        assert len(described) > 10, place
        assert described.endswith("."), place
        target = SCHEMA["$defs"][part["$ref"].rpartition("/")[2]] if "$ref" in part else {}
        assert part.get("title") or target.get("title") or place.endswith("/name"), place


def test_every_definition_is_described_and_used() -> None:
    used = {schema["$ref"] for _, schema in _schemas(SCHEMA) if "$ref" in schema}
    assert used == {f"#/$defs/{name}" for name in SCHEMA["$defs"]}
    for name, definition in SCHEMA["$defs"].items():
        assert definition["title"], name
        assert definition["description"].endswith("."), name


def test_every_object_is_closed_and_takes_a_note() -> None:
    closed = 0
    for place, schema in _schemas(SCHEMA):
        if "properties" in schema:
            assert schema["additionalProperties"] is False, place
            assert "note" in schema["properties"], place
            closed += 1
        elif schema.get("type") == "object":
            # A map: all entries are of one kind, and all keys follow a pattern.
            assert "$ref" in schema["propertyNames"], place
            assert isinstance(schema["additionalProperties"], dict), place
    assert closed == 21


def test_there_is_no_choice_between_kinds() -> None:
    # One map for each kind of thing: an error message then uses the words of that kind.
    for keyword in ("oneOf", "anyOf", "allOf", "if"):
        assert not [place for place, schema in _schemas(SCHEMA) if keyword in schema]


def test_all_examples_and_defaults_follow_the_schema_they_stand_in() -> None:
    count = 0
    for place, part in _schemas(SCHEMA):
        here = Draft202012Validator({**part, "$defs": SCHEMA["$defs"]})
        for example in part.get("examples", []) + ([part["default"]] if "default" in part else []):
            assert here.is_valid(example), (place, example)
            count += 1
    assert count > 40


def test_patterns_mean_the_same_in_ecma_262_and_in_python() -> None:
    # Use only syntax that both share: literals, classes, groups, counts, anchors at both ends.
    for place, schema in _schemas(SCHEMA):
        pattern = schema.get("pattern")
        if pattern is None:
            continue
        assert re.fullmatch(r"\^[^$]*\$", pattern), place
        assert not re.search(r"\\[a-zA-Z0-9]|\(\?", pattern), place


def test_ids_have_the_form_that_the_format_says() -> None:
    ids = SCHEMA["$defs"]["id"]["pattern"]
    for good in ("a", "7", "A" * 40, "loop-west", "p_1", "1L"):
        assert re.search(ids, good), good
    for bad in ("", "-a", "_a", "A" * 41, "a b", "a.b", "é", "a/b", "a:b"):
        assert not re.search(ids, bad), bad


def test_the_demonstration_plan_follows_it() -> None:
    plan = json.loads(read_resource("kelpie-quay.layout.json"))
    assert plan["format"] == FORMAT == SCHEMA["properties"]["format"]["const"]
    assert list(Draft202012Validator(SCHEMA).iter_errors(plan)) == []
    assert schema_findings(plan) == []


EVERYTHING: dict[str, Any] = {
    "$schema": "urn:trappoint:layout:1",
    "format": "trappoint-layout/1",
    "title": "All of it",
    "scale": "EM",
    "standard": "British",
    "gauge_mm": 18.2,
    "spacing_mm": 44.7,
    "note": "Every key of the format, once.",
    "tracks": {
        "a": {
            "up": "edge:west",
            "down": "p1.toe",
            "running": "down",
            "stand": False,
            "length_mm": 900.5,
            "radius_mm": 600,
            "curve": "left",
            "gradient_percent": -1.5,
            "rank": 1,
            "draw": {"lane": 2, "note": "n"},
            "name": "Main",
            "note": "n",
        },
        "b": {"up": "x1.a2", "down": "table.3"},
        "c": {"up": "joint:j-1", "down": "buffer"},
    },
    "points": {
        "p1": {
            "normal": "middle",
            "kind": "three-way",
            "crossing_number": 8,
            "measure": "right-angle",
            "leg_mm": 120,
            "toe_mm": 90,
            "trap": False,
            "lock": True,
            "draw": {"order": 1, "note": "n"},
            "name": "n",
            "note": "n",
        },
        "p2": {"normal": "left", "angle_degrees": 12, "trap": True},
        "p3": {
            "normal": "left",
            "leg_mm": 200,
            "curves": {
                "left": {"hand": "left", "radius_mm": 600, "note": "n"},
                "middle": {"hand": "right", "radius_mm": 600},
                "right": {"hand": "left", "radius_mm": 900},
            },
        },
    },
    "crossings": {
        "x1": {
            "kind": "double-slip",
            "angle_degrees": 9,
            "draw": {"order": 2},
            "name": "n",
            "note": "n",
        }
    },
    "turntables": {
        "table": {
            "roads": ["3"],
            "kind": "sector-plate",
            "draw": {"order": 3},
            "name": "n",
            "note": "n",
        }
    },
    "platforms": {"A": {"tracks": ["a"], "length_mm": 1, "name": "n", "note": "n"}},
    "signals": {
        "1": {
            "track": "a",
            "for": "down",
            "at_mm": 0,
            "side": "left",
            "from_centre_mm": 27,
            "post_mm": 3,
            "spacing_mm": 60,
            "mount": "gantry",
            "form": "colour-light",
            "name": "n",
            "note": "n",
            "duties": ["starter platform A"],
            "arms": [
                {"id": "1", "to": ["b", "c"], "doll": 2, "expects": {"p1": "middle"}},
                {"id": "5", "height_mm": 9},
                {"id": "2", "kind": "distant", "under": "1", "repeats": "1", "name": "n"},
                {"id": "3", "kind": "distant", "repeats": ["1"], "track": "b", "for": "up"},
                {"id": "4", "at_mm": 5.5, "never_with": ["1"], "to": "A", "note": "n"},
            ],
        }
    },
    "worked_together": [["p1", "p2"]],
    "yards": {
        "y": {
            "tracks": ["c"],
            "points": [],
            "crossings": ["x1"],
            "turntables": ["table"],
            "name": "n",
            "note": "n",
        }
    },
    "trains": {
        "t": {"length_mm": 1, "longest_coach_mm": 1, "engine_mm": 1, "name": "n", "note": "n"}
    },
    "levers": {"1": {"points": ["p1"], "name": "n"}, "999": {"arms": ["1"]}, "3": {"note": "n"}},
    "scenes": {
        "s": {
            "points": {"p1": "left", "x1": "slip"},
            "off": ["1"],
            "trains": {"a": True, "b": "t"},
            "name": "n",
            "note": "n",
        }
    },
    "sessions": {
        "w": {
            "trains": {"a": True, "b": "t"},
            "moves": [
                {"train": "t", "from": "edge:west", "to": "A", "via": "a", "arm": "1", "note": "n"},
                {"train": "t", "to": "west/a", "via": ["a", "b"]},
            ],
            "name": "n",
            "note": "n",
        }
    },
    "accept": [
        {"rule": "unheld-exit", "at": "/signals/1", "because": "", "note": "n"},
        {"rule": "unheld-exit", "at": "west/a"},
    ],
    "edges": {"west": {"held": True, "name": "n", "note": "n"}, "west/town": {}},
    "boards": {"west": {"plan": "../west.layout.json", "reversed": True, "name": "n", "note": "n"}},
    "joins": [{"a": "west:main", "b": ":main", "note": "n"}, {"a": "w:i/e", "b": "x:y"}],
}


def test_every_key_of_the_format_can_be_written() -> None:
    assert list(Draft202012Validator(SCHEMA).iter_errors(EVERYTHING)) == []
    assert schema_findings(EVERYTHING) == []
    written = json.dumps(EVERYTHING)
    for place in _properties():
        assert f'"{place.rpartition("/")[2]}": ' in written, place


@pytest.mark.parametrize("key", ["format", "tracks"])
def test_what_is_required_at_the_top(key: str) -> None:
    assert SCHEMA["required"] == ["format", "tracks"]
    plan = {k: v for k, v in EVERYTHING.items() if k != key}
    assert [f.rule for f in schema_findings(plan)] == ["missing-key"]


# --- the schema and the library agree


def _examples(schema: Any) -> Iterator[Any]:
    """Yield every example in a schema, at any depth."""
    for _, part in _schemas(schema):
        yield from part.get("examples", ())


def _named_rules(value: Any) -> Iterator[str]:
    """Yield every value of a key ``rule``, at any depth."""
    if isinstance(value, dict):
        if "rule" in value:
            yield str(value["rule"])
        for each in value.values():
            yield from _named_rules(each)
    elif isinstance(value, list):
        for each in value:
            yield from _named_rules(each)


def _texts() -> Iterator[str]:
    for _, part in _schemas(SCHEMA):
        yield part.get("description", "")


def test_every_rule_that_is_named_exists() -> None:
    """Test that examples name known rules: editors offer the examples to people."""
    named = [*SCHEMA["$defs"]["rule_name"]["examples"]]
    for example in _examples(SCHEMA):
        named += _named_rules(example)
    assert len(named) > 1
    known = {rule.id for rule in all_rules()}
    assert set(named) <= known


def test_words_of_descriptions_that_look_like_rules_are_rules() -> None:
    words = {word for text in _texts() for word in re.findall(r"[a-z]+(?:-[a-z]+)+", text.lower())}
    schema_words = {
        word for _, part in _schemas(SCHEMA) for word in part.get("enum", ()) if "-" in word
    }
    in_prose = {"facing-point", "calling-on", "two-way"}
    assert words - schema_words - in_prose <= {rule.id for rule in all_rules()}


def test_what_it_says_of_arms_is_so() -> None:
    """Test the list of the kinds of arm that hold trains and have routes."""
    kind = SCHEMA["$defs"]["arm"]["properties"]["kind"]
    said = re.fullmatch(
        r"The kind of arm\. (.+) hold trains and have routes; (.+) do not\..*", kind["description"]
    )
    assert said
    holding, others = (re.findall(r"[a-z]+(?:-[a-z]+)?", part.lower()) for part in said.groups())
    for word in kind["enum"]:
        assert (word in holding or f"{word}s" in holding) is _holds_trains(word), word
        assert (word in others or f"{word}s" in others) is not _holds_trains(word), word


def _holds_trains(kind: str) -> bool:
    """Return whether an arm of this kind stops trains before the next track."""
    plan = {
        "format": "trappoint-layout/1",
        "tracks": {
            "line": {"up": "edge:out", "down": "joint:home"},
            "road": {"up": "joint:home", "down": "buffer"},
        },
        "signals": {
            "1": {"track": "line", "for": "down", "arms": [{"id": "1", "kind": kind}]},
            "2": {"track": "road", "for": "up", "arms": [{"id": "2"}]},
        },
    }
    report = check(json.dumps(plan))
    assert report.table is not None
    routes = {entry.arm: entry.routes for entry in report.table.arms}
    assert bool(routes.get("1")) is report.holds
    return report.holds is True
