"""Read a document strictly: turn bytes or text into a document or into findings.

The format is JSON (RFC 8259) in UTF-8, with stricter limits than most readers have: an object
cannot have a key twice, numbers must be finite, and a file has at most 8 MiB. The scanner of the
standard library reads every document first. If it refuses a text,
``trappoint.source.json_diagnosis`` reads that text again to find the mistakes.
"""

from __future__ import annotations

import json
import math
import os
import os.path
import re
from typing import Any, NamedTuple, NoReturn

from trappoint.core.errors import CannotUse, reason_of
from trappoint.core.findings import Finding
from trappoint.source.limits import MAX_INTEGER_DIGITS
from trappoint.source.opening import OutOfReach, read_within, repository_of

LIMIT_BYTES = 8 * 1024 * 1024
"""Limit on the size of a file, in bytes."""

_NO_HALVES = re.compile(
    r"(?:[^\\]++|\\u[dD][89abAB][0-9a-fA-F]{2}\\u[dD][c-fC-F][0-9a-fA-F]{2}"
    r"|\\(?!u[dD][89a-fA-F]).)*+",
    re.DOTALL,
)
"""Matches text in which every escaped half of a surrogate pair has its other half."""


class Document(NamedTuple):
    """A JSON object and its source text."""

    name: str
    """The name of the file in reports."""
    text: str
    data: dict[str, Any]


class Unreadable(NamedTuple):
    """A file or text that is not a document, with the reasons."""

    name: str
    text: str | None
    """The text; None if the file is too long or not UTF-8."""
    findings: tuple[Finding, ...]
    """At least one, each with line and column."""


class UnusableFile(CannotUse):
    """Raised for a file that cannot be read: missing, a folder, or without permission."""


_SENTENCES: dict[type[OSError], str] = {
    OutOfReach: "{} is a link that leads out of its repository or folder.",
    FileNotFoundError: "There is no file {}.",
    NotADirectoryError: "There is no file {}: a part of it is not a folder.",
    IsADirectoryError: "{} is a folder, not a file.",
    PermissionError: "{} cannot be read: permission was refused.",
}
"""From each error of the system to a message; {} is the path of the file."""


class _RefusedError(ValueError):
    """Raised by the quick reader for a text that is not strict JSON."""

    def __init__(self, findings: tuple[Finding, ...] = ()) -> None:
        super().__init__()
        self.findings = findings
        """The findings; empty if the diagnosis has not run yet."""


def read_file(path: str | os.PathLike[str], top: str | None = None) -> bytes:
    """Return the bytes of a file, at most ``LIMIT_BYTES`` plus one.

    It must be a plain file within the folder ``top`` (default: its repository). A file outside
    any repository may also be a pipe or a device, because a person named it. Raises
    ``UnusableFile``, with a sentence as its message, if the file cannot be read.
    """
    try:
        top = top or repository_of(os.path.dirname(path))  # noqa: PTH120 - pathlib costs start-up
        if top is not None:
            return read_within(top, os.fspath(path), LIMIT_BYTES + 1)
        with open(path, "rb") as file:  # noqa: PTH123
            return file.read(LIMIT_BYTES + 1)
    except (OSError, ValueError) as error:
        raise UnusableFile(why_unusable(path, error)) from None


def why_unusable(path: str | os.PathLike[str], error: OSError | ValueError) -> str:
    """Return a sentence that says why a file cannot be read."""
    from trappoint.core.quoting import visible

    shown = visible(str(path))
    if not isinstance(error, OSError):  # a NUL or a lone surrogate in the name
        return f"{shown} is not the name of a file."
    for kind, sentence in _SENTENCES.items():
        if isinstance(error, kind):
            return sentence.format(shown)
    return f"{shown} cannot be read: {reason_of(error)}."


def read_document(source: str | bytes, name: str) -> Document | Unreadable:
    """Return the document in a text, or ``Unreadable`` with findings; raise nothing.

    ``source`` is the text, or its bytes in UTF-8; ``name`` is its name in reports.
    """
    if _bytes_of(source) > LIMIT_BYTES:
        return Unreadable(name, None, (_too_long(),))
    text = _decoded(source) if isinstance(source, bytes) else source
    if isinstance(text, Finding):
        return Unreadable(name, None, (text,))
    try:
        if isinstance(source, str):
            text.encode("utf-8")  # fails for half a surrogate pair; UTF-8 bytes cannot contain one
        data = _read_quickly(text)
    except _RefusedError as refused:
        return Unreadable(name, text, refused.findings or _closely(text))
    except (ValueError, RecursionError):
        # The standard library raises ValueError for bad JSON, RecursionError for deep nesting.
        return Unreadable(name, text, _closely(text))
    if not isinstance(data, dict):
        from trappoint.source.positions import place_findings

        return Unreadable(name, text, place_findings(text, (not_an_object(data),)))
    return Document(name, text, data)


def not_an_object(value: object) -> Finding:
    """Return the finding for JSON that is not an object in braces."""
    words: dict[type, str] = {list: "a list", str: "a text", type(None): "null"}
    what = words.get(type(value), "true or false" if isinstance(value, bool) else "a number")
    return Finding(
        "not-a-plan",
        "error",
        "",
        f"This is {what}, but a plan is an object: it begins with {{ and ends with }}.",
        "Everything in a plan has a key that says what it is.",
        'Begin with {"format": "trappoint-layout/1", "tracks": { ... }}.',
    )


def _read_quickly(text: str) -> object:
    if "\\u" in text and not _NO_HALVES.fullmatch(text):
        # The standard library accepts half a surrogate pair; this reader must not.
        from trappoint.source.json_diagnosis import find_mistakes

        found = find_mistakes(text)
        if found:
            raise _RefusedError(found)
    return json.loads(
        text,
        object_pairs_hook=_object,
        parse_float=_float,
        parse_int=_int,
        parse_constant=_constant,
    )


def _closely(text: str) -> tuple[Finding, ...]:
    """Return the mistakes in a text that the quick reader refused."""
    from trappoint.source.json_diagnosis import find_mistakes

    found = find_mistakes(text)
    if found:
        return found
    # Both readers follow RFC 8259, so this never happens. If it does, still refuse the text.
    return (Finding("not-json", "error", "", "This cannot be read as JSON.", line=1, column=1),)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise _RefusedError
    return found


def _float(digits: str) -> float:
    number = float(digits)
    if not math.isfinite(number):
        raise _RefusedError
    return number


def _int(digits: str) -> int:
    if len(digits) > MAX_INTEGER_DIGITS:
        raise _RefusedError
    return int(digits)


def _constant(_: str) -> NoReturn:
    raise _RefusedError


def _bytes_of(source: str | bytes) -> int:
    """Return the number of bytes in UTF-8; a lower number if that is surely within the limit."""
    if isinstance(source, bytes) or len(source) * 4 <= LIMIT_BYTES or source.isascii():
        return len(source)
    return len(source.encode("utf-8", "surrogatepass"))


def _too_long() -> Finding:
    return Finding(
        "too-long",
        "error",
        "",
        "The file is longer than 8 MiB (8,388,608 bytes).",
        "No plan of a model railway is that long, and a check must end soon on anything.",
        "See whether this is the right file. A large layout can be put together from boards.",
        line=1,
        column=1,
    )


_WIDE_BRACES = ("{\0", "\0{", "\0\0\0{")
"""An opening brace in UTF-16 or UTF-32 without a byte-order mark, decoded as UTF-8."""


def _decoded(source: bytes) -> str | Finding:
    """Return the text of UTF-8 bytes, or a finding for other bytes."""
    try:
        text = source.decode("utf-8")
    except UnicodeDecodeError as error:
        return _not_utf8(source, error.start)
    return _not_utf8(source, 0) if text.startswith(_WIDE_BRACES) else text


def _not_utf8(source: bytes, at: int) -> Finding:
    before = source[:at].decode("utf-8")
    from trappoint.source.positions import Lines

    line, column = Lines(before).place(len(before))
    if source[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in source[:2]:
        message = "This is not UTF-8: the file begins as UTF-16 does."
    else:
        message = f"This is not UTF-8: the byte 0x{source[at]:02x} cannot stand here."
    return Finding(
        "not-utf8",
        "error",
        "",
        message,
        "A plan is read alike everywhere only if all its letters are written in UTF-8.",
        "Save the file with the encoding UTF-8.",
        line=line,
        column=column,
    )
