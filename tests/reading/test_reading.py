"""Reading a file or text gives a document or findings, never an exception."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trappoint.core.resources import read_resource
from trappoint.source.reading import (
    LIMIT_BYTES,
    Document,
    Unreadable,
    UnusableFile,
    read_document,
    read_file,
)


def test_a_document_keeps_name_text_and_values() -> None:
    text = read_resource("kelpie-quay.layout.json")
    document = read_document(text.encode(), "kelpie-quay.layout.json")
    assert isinstance(document, Document)
    assert document.name == "kelpie-quay.layout.json"
    assert document.text == text
    assert document.data == json.loads(text)
    assert list(document.data["tracks"])[:3] == ["town-line", "main", "loop-west"]


@pytest.mark.parametrize(
    "source", ['{"a": "é\\ud83d\\ude00"}', '{"a": "é😀"}', b'{"a": "\xc3\xa9\xf0\x9f\x98\x80"}']
)
def test_text_and_bytes_are_read_alike(source: str | bytes) -> None:
    document = read_document(source, "plan")
    assert isinstance(document, Document)
    assert document.data == {"a": "é😀"}


def test_an_escaped_backslash_before_a_surrogates_digits_is_no_surrogate() -> None:
    document = read_document('{"a": "\\\\ud800"}', "plan")
    assert isinstance(document, Document)
    assert document.data == {"a": "\\ud800"}


@pytest.mark.parametrize(
    ("source", "line", "column", "message"),
    [
        (b"\xff", 1, 1, "This is not UTF-8: the byte 0xff cannot stand here."),
        (b'{"a": "b\xe9"}', 1, 9, "This is not UTF-8: the byte 0xe9 cannot stand here."),
        (
            '{\r\n "é": "é'.encode() + b"\xc3(",
            2,
            9,
            "This is not UTF-8: the byte 0xc3 cannot stand here.",
        ),
        (b'\n\n{"\xed\xa0\x80": 1}', 3, 3, "This is not UTF-8: the byte 0xed cannot stand here."),
        ("{}".encode("utf-16"), 1, 1, "This is not UTF-8: the file begins as UTF-16 does."),
    ],
)
def test_what_is_not_utf8(source: bytes, line: int, column: int, message: str) -> None:
    result = read_document(source, "plan")
    assert isinstance(result, Unreadable)
    assert result.text is None
    (finding,) = result.findings
    assert (finding.rule, finding.line, finding.column) == ("not-utf8", line, column)
    assert finding.message == message


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("[]", "a list"),
        ('"a"', "a text"),
        ("12", "a number"),
        ("1.5", "a number"),
        ("null", "null"),
        ("true", "true or false"),
    ],
)
def test_what_is_no_object(text: str, what: str) -> None:
    result = read_document("\n  " + text, "plan")
    assert isinstance(result, Unreadable)
    (finding,) = result.findings
    assert (finding.rule, finding.line, finding.column) == ("not-a-plan", 2, 3)
    assert finding.message == (
        f"This is {what}, but a plan is an object: it begins with {{ and ends with }}."
    )


def _padded(length: int) -> str:
    return '{"note": "' + "x" * (length - 12) + '"}'


def test_eight_mebibytes_are_read_and_one_byte_more_is_not() -> None:
    assert LIMIT_BYTES == 8_388_608
    for source in (_padded(LIMIT_BYTES), _padded(LIMIT_BYTES).encode()):
        assert isinstance(read_document(source, "plan"), Document)
    wide = '{"note": "' + "é" * (LIMIT_BYTES // 2) + '"}'
    for long in (_padded(LIMIT_BYTES + 1), _padded(LIMIT_BYTES + 1).encode(), wide):
        result = read_document(long, "plan")
        assert isinstance(result, Unreadable)
        (finding,) = result.findings
        assert (finding.rule, finding.line, finding.column) == ("too-long", 1, 1)
        assert finding.message == "The file is longer than 8 MiB (8,388,608 bytes)."


def test_a_long_file_is_not_read_to_its_end(tmp_path: Path) -> None:
    path = tmp_path / "long.layout.json"
    with path.open("wb") as file:
        file.truncate(LIMIT_BYTES * 4)
    assert len(read_file(path)) == LIMIT_BYTES + 1


def test_numbers_at_the_edge_of_what_can_be_reckoned_with() -> None:
    document = read_document('{"a": 1.7e308, "b": 1e-999, "c": ' + "9" * 308 + "}", "plan")
    assert isinstance(document, Document)
    assert document.data["a"] == 1.7e308
    assert document.data["b"] == 0
    assert float(document.data["c"]) == pytest.approx(1e308)


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(UnusableFile, match=r"^There is no file .*absent\.layout\.json\.$"):
        read_file(tmp_path / "absent.layout.json")


def test_a_folder(tmp_path: Path) -> None:
    with pytest.raises(UnusableFile, match=r" is a folder, not a file\.$"):
        read_file(tmp_path)


def test_a_path_through_a_file(tmp_path: Path) -> None:
    (tmp_path / "plan").write_text("{}")
    with pytest.raises(
        UnusableFile, match=r"^There is no file .*: a part of it is not a folder\.$"
    ):
        read_file(tmp_path / "plan" / "inner")


def test_a_name_that_no_file_can_have() -> None:
    with pytest.raises(UnusableFile, match=r"^a\\u0000b is not the name of a file\.$"):
        read_file("a\0b")
    with pytest.raises(UnusableFile, match=r" cannot be read: file name too long\.$"):
        read_file("x" * 5000)


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Tests may run as root, who can read every file: simulate the refusal.
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("builtins.open", refuse)
    with pytest.raises(UnusableFile, match=r" cannot be read: permission was refused\.$"):
        read_file(tmp_path / "plan")


@given(st.binary(max_size=60) | st.text(max_size=60))
def test_nothing_is_ever_raised(source: bytes | str) -> None:
    result = read_document(source, "plan")
    if isinstance(result, Unreadable):
        assert result.findings
        assert all(finding.line >= 1 and finding.column >= 1 for finding in result.findings)


@given(st.text(max_size=20) | st.text("\udc80/\x00\n", max_size=4))
def test_names_of_files_never_raise_anything_else(name: str) -> None:
    try:
        read_file(f"{os.devnull}/{name}")
    except UnusableFile as error:
        assert str(error).endswith(".")
        assert str(error).isprintable()


def test_a_large_document_is_read_and_a_slip_at_its_end_is_found() -> None:
    row = '{"up": "edge:a", "down": "edge:b", "note": "Entry %d"}'
    rows = ",\n".join(f'"t{n}": {row % n}' for n in range(80_000))
    text = '{"format": "trappoint-layout/1",\n"tracks": {\n' + rows + "\n}}"
    assert len(text) > 5_000_000
    begun = time.process_time()
    document = read_document(text.encode(), "plan")
    assert isinstance(document, Document)
    assert len(document.data["tracks"]) == 80_000
    broken = read_document(text[:-2] + ',"t5": 1}}', "plan")
    assert isinstance(broken, Unreadable)
    assert [(f.rule, f.line, f.column) for f in broken.findings] == [("duplicate-key", 80_003, 2)]
    # Measured at under 1 s; the limit only excludes quadratic cost.
    assert time.process_time() - begun < 20


def test_a_document_in_order_needs_nothing_heavy() -> None:
    script = """
import sys
before = set(sys.modules)
from trappoint.core.resources import read_resource
from trappoint.schema.validation import schema_findings
from trappoint.source.reading import Document, read_document
document = read_document(read_resource("kelpie-quay.layout.json"), "plan")
assert isinstance(document, Document) and schema_findings(document.data) == []
print(*sorted(set(sys.modules) - before))
"""
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True, encoding="utf-8"
    )
    loaded = set(done.stdout.split())
    assert "trappoint.schema.validation" in loaded
    assert loaded.isdisjoint(
        [
            "jsonschema",
            "networkx",
            "flask",
            "pathlib",
            "urllib",
            "importlib.metadata",
            "trappoint.source.json_diagnosis",
            "trappoint.source.positions",
            "trappoint.schema.messages",
            "trappoint.core.quoting",
        ]
    )
