"""Strict reading: from bytes or text to a document, or to findings that say what is wrong.

The format is JSON (RFC 8259) in UTF-8, read more strictly than most readers do: a key must not
stand twice in one object, numbers must be finite, and a file has at most 8 MiB. A document that
is in order is read by the standard library's scanner alone; only where that refuses does
``trappoint.source.json_diagnosis`` go through the text again, to say where and why.
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
"""The most bytes that a file may have."""

_NO_HALVES = re.compile(
    r"(?:[^\\]++|\\u[dD][89abAB][0-9a-fA-F]{2}\\u[dD][c-fC-F][0-9a-fA-F]{2}"
    r"|\\(?!u[dD][89a-fA-F]).)*+",
    re.DOTALL,
)
"""Text in which every escape of a half of a character stands in a pair."""


class Document(NamedTuple):
    """A JSON object that was read, with the text that it was read from."""

    name: str
    """What the file is called in reports."""
    text: str
    data: dict[str, Any]


class Unreadable(NamedTuple):
    """What could not be read as a document, and why."""

    name: str
    text: str | None
    """The text, so far as there is one: None if the bytes are not UTF-8 or far too many."""
    findings: tuple[Finding, ...]
    """At least one, each with line and column."""


class UnusableFile(CannotUse):
    """A file that cannot be read at all: missing, a folder, not permitted."""


_SENTENCES: dict[type[OSError], str] = {
    OutOfReach: "{} is a link that leads out of its repository or folder.",
    FileNotFoundError: "There is no file {}.",
    NotADirectoryError: "There is no file {}: a part of it is not a folder.",
    IsADirectoryError: "{} is a folder, not a file.",
    PermissionError: "{} cannot be read: permission was refused.",
}
"""What keeps a file from being read, in sentences about it."""


class _RefusedError(ValueError):
    """Raised in the quick reading where the text must be looked at closely."""

    def __init__(self, findings: tuple[Finding, ...] = ()) -> None:
        super().__init__()
        self.findings = findings
        """What was found already; nothing where the close look is still to be taken."""


def read_file(path: str | os.PathLike[str], top: str | None = None) -> bytes:
    """Return the bytes of a file, at most one more than a document may have.

    It must be a plain file within the folder ``top`` (default: its repository). A file in no
    repository may also be a pipe or a device: a person named it. Raises UnusableFile, with a plain
    sentence, if the file cannot be read.
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
    """Say in a sentence why a file could not be read."""
    from trappoint.core.quoting import visible

    shown = visible(str(path))
    if not isinstance(error, OSError):  # a NUL or a lone surrogate in the name
        return f"{shown} is not the name of a file."
    for kind, sentence in _SENTENCES.items():
        if isinstance(error, kind):
            return sentence.format(shown)
    return f"{shown} cannot be read: {reason_of(error)}."


def read_document(source: str | bytes, name: str) -> Document | Unreadable:
    """Read a document strictly.

    ``source`` is the text, or its bytes in UTF-8; ``name`` is what reports call it. Nothing is
    raised: what cannot be read comes back as Unreadable, with its findings.
    """
    if _bytes_of(source) > LIMIT_BYTES:
        return Unreadable(name, None, (_too_long(),))
    if isinstance(source, bytes):
        try:
            text = source.decode("utf-8")
        except UnicodeDecodeError as error:
            return Unreadable(name, None, (_not_utf8(source, error.start),))
    else:
        text = source
    try:
        if isinstance(source, str):
            text.encode("utf-8")  # refuses halves of surrogate pairs, which bytes cannot hold
        data = _read_quickly(text)
    except _RefusedError as refused:
        return Unreadable(name, text, refused.findings or _closely(text))
    except (ValueError, RecursionError):
        # ValueError covers all that the standard library refuses.
        return Unreadable(name, text, _closely(text))
    if not isinstance(data, dict):
        from trappoint.source.positions import place_findings

        return Unreadable(name, text, place_findings(text, (not_an_object(data),)))
    return Document(name, text, data)


def not_an_object(value: object) -> Finding:
    """Return the finding for a document that is JSON, but not an object in braces."""
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
        # Half a surrogate pair, which the standard library would let pass.
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
    """Return what the close look finds in a text that the quick reading refused."""
    from trappoint.source.json_diagnosis import find_mistakes

    found = find_mistakes(text)
    if found:
        return found
    # Both readings follow RFC 8259, so this does not come about; if it did, it must not pass.
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
    """Return the length in UTF-8, counted only where it could be over the limit."""
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


def _not_utf8(source: bytes, at: int) -> Finding:
    before = source[:at].decode("utf-8")
    from trappoint.source.positions import Lines

    line, column = Lines(before).place(len(before))
    if source[:2] in (b"\xff\xfe", b"\xfe\xff"):
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
