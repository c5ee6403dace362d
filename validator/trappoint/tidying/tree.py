"""A plan as a tree that keeps the digits of numbers and the order of keys.

``source.reading`` turns numbers into floats. That suits checking, but writing the floats back would
change 1450.0 or 1.45e3.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from json import JSONDecoder, decoder
from typing import TYPE_CHECKING, Final, TypeAlias

from trappoint.source.limits import MAX_DEPTH
from trappoint.source.reading import Unreadable, read_document

if TYPE_CHECKING:
    from collections.abc import Callable

_BLANK = re.compile(r"[ \t\n\r]*")
_EMPTY_LINE = re.compile(r"(?:\n|\r(?!\n))[ \t]*[\r\n]")
_NUMBER = re.compile(r"(-?)(\d+)(?:\.(\d+))?(?:[eE]([+-]?\d+))?")
_LONGEST_EXPONENT = 18
"""Most digits of an exponent that is compared by value; beyond it, digits are compared."""

_scan_string: Callable[[str, int, bool], tuple[str, int]] = decoder.scanstring  # type: ignore[attr-defined]  # the type stubs leave it out


@dataclass(frozen=True, slots=True)
class Number:
    """A number, as the author's digits."""

    digits: str

    def value(self) -> tuple[str, str, int]:
        """Return sign, digits and exponent: the same for equal numbers, different for others."""
        found = _NUMBER.fullmatch(self.digits)
        if found is None:
            return ("", self.digits, 0)
        sign, whole, part, exponent = found.groups()
        part, exponent = part or "", exponent or "0"
        digits = (whole + part).lstrip("0")
        if not digits:
            return ("", "", 0)
        if len(exponent.lstrip("+-0")) > _LONGEST_EXPONENT:
            return (sign, self.digits, 0)
        kept = digits.rstrip("0")
        return (sign, kept, int(exponent) - len(part) + len(digits) - len(kept))


class Missing:
    """The value of a key that one version of a plan lacks."""

    def __repr__(self) -> str:
        """Return the name of the constant."""
        return "MISSING"


MISSING: Final = Missing()


@dataclass(frozen=True, slots=True)
class VersionClash:
    """Two versions of one thing; both are written, and a person must choose."""

    ours: Value | Missing
    theirs: Value | Missing
    base: Value | Missing = MISSING

    @property
    def sure(self) -> bool:
        """True if both versions have a value."""
        return self.ours is not MISSING and self.theirs is not MISSING


Value: TypeAlias = dict[str, "Value"] | list["Value"] | str | Number | bool | VersionClash | None
Tree: TypeAlias = dict[str, Value]
Gaps: TypeAlias = frozenset[tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class SourceTree:
    """A plan read from a text, ready to be written back."""

    name: str
    text: str
    tree: Tree
    gaps: Gaps
    """The paths of the keys after an empty line, at the top and one level below."""

    @property
    def crlf(self) -> bool:
        """True if every line ends in CR LF, as git may write them on Windows."""
        return "\r\n" in self.text and self.text.count("\r\n") == self.text.count("\n")


def read_sheet(content: str | bytes, name: str) -> SourceTree | Unreadable:
    """Read a text strictly and return its tree; Unreadable, with findings, if it cannot be read.

    Raises nothing.
    """
    document = read_document(content, name)
    if isinstance(document, Unreadable):
        return document
    text = document.text
    if _deep(document.data):
        from trappoint.source.json_diagnosis import find_mistakes

        return Unreadable(name, text, find_mistakes(text))
    gaps: set[tuple[str, ...]] = set()
    tree, _ = _read_object(text, _skip(text, 0), (), gaps)
    return SourceTree(name, text, tree, frozenset(gaps))


_decode = JSONDecoder(parse_float=Number, parse_int=Number).raw_decode


def _read_object(
    text: str, at: int, path: tuple[str, ...], gaps: set[tuple[str, ...]]
) -> tuple[Tree, int]:
    """Read the object at this position of valid JSON; return it and the position after it."""
    found: Tree = {}
    now = at + 1
    while True:
        before, now = now, _skip(text, now)
        if text[now] == "}":
            return found, now + 1
        if text[now] == ",":
            before, now = now + 1, _skip(text, now + 1)
        key, after = _scan_string(text, now + 1, True)
        if found and _EMPTY_LINE.search(text, before, now):
            gaps.add((*path, key))
        value_at = _skip(text, _skip(text, after) + 1)
        if text[value_at] == "{" and not path:
            found[key], now = _read_object(text, value_at, (*path, key), gaps)
        else:
            found[key], now = _decode(text, value_at)


def _skip(text: str, at: int) -> int:
    blank = _BLANK.match(text, at)
    return blank.end() if blank else at


def _deep(data: object) -> bool:
    """Return whether the data are nested deeper than ``MAX_DEPTH``."""
    level: list[object] = [data]
    for _ in range(MAX_DEPTH):
        below: list[object] = []
        for value in level:
            if isinstance(value, dict):
                below += [inner for inner in value.values() if isinstance(inner, dict | list)]
            elif isinstance(value, list):
                below += [inner for inner in value if isinstance(inner, dict | list)]
        if not below:
            return False
        level = below
    return True
