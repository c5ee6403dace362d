"""The page about the format: its examples are valid and its statements are true."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

import trappoint
from oracle.two_trains import holds
from trappoint.interlocking.duties import DUTY_WORDS
from trappoint.schema.published import layout_schema
from trappoint.schema.validation import schema_findings
from trappoint.source.reading import Document, read_document

FOLDER = Path(__file__).parents[2] / "schema"
PAGE = (FOLDER / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```json\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
WHOLE = [block for block in BLOCKS if '"format"' in block]
FRAGMENTS = [block for block in BLOCKS if '"format"' not in block]


def _read(text: str) -> dict[str, Any]:
    document = read_document(text, "page")
    assert isinstance(document, Document), document
    return document.data


def test_there_are_whole_plans_and_fragments() -> None:
    assert len(WHOLE) == 2
    assert len(FRAGMENTS) == 18


@pytest.mark.parametrize("text", WHOLE, ids=lambda text: str(json.loads(text)["title"]))
def test_whole_plans_hold_and_nothing_is_found_in_them(text: str) -> None:
    assert schema_findings(_read(text)) == []
    report = trappoint.check(text)
    assert report.holds is True
    assert [finding for finding in report.findings if finding.level != "note"] == []
    assert holds(json.loads(text))


def _signals() -> list[tuple[str, str]]:
    return [(text, signal) for text in WHOLE for signal in json.loads(text)["signals"]]


@pytest.mark.parametrize(("text", "signal"), _signals(), ids=lambda part: part[:12].strip())
def test_no_signal_of_theirs_can_be_left_out(text: str, signal: str) -> None:
    plan = json.loads(text)
    del plan["signals"][signal]
    for key in ("levers", "scenes"):
        plan.pop(key, None)
    for other in plan["signals"].values():
        for arm in other["arms"]:
            arm.pop("never_with", None)
    assert trappoint.check(json.dumps(plan)).holds is False
    assert not holds(plan)


@pytest.mark.parametrize("text", FRAGMENTS, ids=lambda text: "-".join(json.loads(text)))
def test_fragments_follow_the_schema(text: str) -> None:
    fragment = _read(text)
    assert schema_findings({"format": "trappoint-layout/1", "tracks": {}} | fragment) == []


def test_every_key_of_the_format_is_on_the_page() -> None:
    schema = layout_schema()
    parts = [schema, *schema["$defs"].values()]
    for key in {key for part in parts for key in part.get("properties", ())}:
        assert f'"{key}":' in PAGE or f"`{key}`" in PAGE, key


def test_every_word_that_may_be_written_is_on_the_page() -> None:
    schema = layout_schema()
    for name, part in schema["$defs"].items():
        for key, value in part.get("properties", {}).items():
            for word in value.get("enum", ()):
                assert f"`{word}`" in PAGE or f'"{word}"' in PAGE, (name, key, word)


def test_the_duties_on_the_page_are_those_that_are_derived() -> None:
    for word in DUTY_WORDS:
        assert re.search(rf"`{word} [a-zA-Z0-9 ]+`", PAGE), word


def test_the_licence_is_there() -> None:
    licence = (FOLDER / "LICENSE").read_text(encoding="utf-8")
    assert "CC0 1.0 Universal" in licence
    assert "Affirmer hereby overtly, fully, permanently, irrevocably" in " ".join(licence.split())
