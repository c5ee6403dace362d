"""The subjects of the fuzzer: reader, schema, boards, stores, settings, check.

Each function takes bytes and fails if a promise of its subject is broken.
"""

from __future__ import annotations

import json
import math
import re
import tomllib
from functools import cache
from typing import TYPE_CHECKING, Any, NoReturn

from jsonschema import Draft202012Validator

from robust.near_plans import EXAMPLES, PLANS
from robust.test_arbitrary import hold
from trappoint.checking.check import check_content
from trappoint.config.settings_file import SettingsError, read_settings
from trappoint.core.resources import read_resource
from trappoint.parts.store_reading import read_store
from trappoint.schema.validation import schema_findings
from trappoint.source.limits import MAX_INTEGER_DIGITS
from trappoint.source.reading import Document, read_document

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint.core.findings import Finding

BETWEEN_FILES = b"\x1c"
"""Separates the files of one input; valid JSON never contains it."""


def reader(content: bytes) -> None:
    """Compare the reader with the standard library: it accepts the same texts and values."""
    found = read_document(content, "fuzz")
    value = _strictly(content)
    if isinstance(found, Document):
        assert value == found.data
        assert repr(value) == repr(found.data)  # 1 and 1.0 and True are equal
        return
    assert not isinstance(value, dict)
    assert found.findings
    _hold_places(found.findings, content)


def schema(content: bytes) -> None:
    """Compare the compiled schema with a library that reads the published schema."""
    value = _strictly(content)
    if isinstance(value, dict):
        findings = schema_findings(value)
        assert (not findings) == _published().is_valid(value), [f.message for f in findings]


def boards(content: bytes) -> None:
    """Check a plan with boards: the first file is the plan, the others are boards."""
    whole, *others = content.split(BETWEEN_FILES)
    hold(check_content(whole, "fuzz", files=_GivenFiles(others)))


def stores(content: bytes) -> None:
    """Read a store."""
    found = read_store(content, "fuzz")
    _hold_places(found.findings, content)


def settings(content: bytes) -> None:
    """Read settings: valid ones are read, and an error names the file."""
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        return
    for name in ("trappoint.toml", "pyproject.toml"):
        try:
            read_settings(text, name)
        except SettingsError as error:
            assert str(error).startswith(name)
            continue
        tomllib.loads(text)


def check(content: bytes) -> None:
    """Check a plan, without boards."""
    hold(check_content(content, "fuzz"))


SUBJECTS: dict[str, Callable[[bytes], None]] = {
    "reader": reader,
    "schema": schema,
    "boards": boards,
    "stores": stores,
    "settings": settings,
    "check": check,
}


def documents_for(subject: str) -> list[Any]:
    """Return the JSON documents from which inputs for a subject are made."""
    folder = EXAMPLES[0].parent
    if subject == "stores":
        return [json.loads(path.read_text("utf-8")) for path in sorted(folder.glob("*.store.json"))]
    if subject == "boards":
        paths = sorted((folder / "nixie-vale").rglob("*.layout.json"))
        return [json.loads(path.read_text("utf-8")) for path in paths]
    return list(PLANS)


def _hold_places(findings: tuple[Finding, ...], content: bytes) -> None:
    lines = re.split("\r\n|\r|\n", content.decode("utf-8", "replace"))
    for finding in findings:
        assert 1 <= finding.line <= len(lines)
        assert finding.column >= 1
        assert finding.message
        assert finding.fix


class _GivenFiles:
    """Boards chosen by the digits in a path, or by its length if it has none."""

    def __init__(self, contents: list[bytes]) -> None:
        self._contents = contents

    def read(self, path: str) -> bytes:
        """Return the content of a board; raise FileNotFoundError if there are no boards."""
        if not self._contents:
            raise FileNotFoundError(path)
        digits = "".join(sign for sign in path if sign in "0123456789")
        number = int(digits[:6]) if digits else len(path)
        return self._contents[number % len(self._contents)]


@cache
def _published() -> Draft202012Validator:
    return Draft202012Validator(json.loads(read_resource("layout.schema.json")))


class _RefusedError(ValueError):
    pass


def _strictly(content: bytes) -> object:
    """Return the value that the standard library reads, or None if the format refuses the text."""
    try:
        value = json.loads(
            content.decode("utf-8"),
            object_pairs_hook=_each_key_once,
            parse_float=_finite,
            parse_int=_of_a_double,
            parse_constant=_no_constant,
        )
        json.dumps(value, ensure_ascii=False).encode()  # refuses halves of surrogate pairs
    except (ValueError, RecursionError):
        return None
    return value


def _each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise _RefusedError
    return found


def _finite(digits: str) -> float:
    value = float(digits)
    if not math.isfinite(value):
        raise _RefusedError
    return value


def _of_a_double(digits: str) -> int:
    if len(digits) > MAX_INTEGER_DIGITS:
        raise _RefusedError
    return int(digits)


def _no_constant(_: str) -> NoReturn:
    raise _RefusedError
