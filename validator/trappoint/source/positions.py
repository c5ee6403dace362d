"""Find the line and column of a JSON pointer in the text of a document.

The search is cheap even in a large document: the scanner of the standard library skips every
value without a wanted place.
"""

from __future__ import annotations

import re
from json import decoder
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from trappoint.core.findings import Finding

_BLANK = re.compile(r"[ \t\n\r]*")
_LONE_CR = re.compile(r"\r(?!\n)")
_decode = decoder.JSONDecoder().raw_decode
_scan_string: Callable[[str, int, bool], tuple[str, int]] = decoder.scanstring  # type: ignore[attr-defined]  # the type stubs leave it out


class Lines:
    """The lines of a text. Lines end at LF, CR LF or CR; columns count characters from 1."""

    def __init__(self, text: str) -> None:
        """Take the text. Lines are counted at the first call of a method."""
        self._text = text
        # Replace a lone CR with LF, so that every line ends with LF; offsets do not change.
        self._marked = _LONE_CR.sub("\n", text) if "\r" in text else text
        self._offset, self._line = 0, 1

    def place(self, offset: int) -> tuple[int, int]:
        """Return the line and column of the character at this offset, counted from 1.

        Calls with rising offsets read the text only once in all.
        """
        if offset < self._offset:
            self._offset, self._line = 0, 1
        self._line += self._marked.count("\n", self._offset, offset)
        self._offset = offset
        return self._line, offset - self._marked.rfind("\n", 0, offset)

    def line(self, number: int) -> str:
        """Return a line, counted from 1, without its line end; empty if there is no such line."""
        if number < 1:
            return ""
        start = 0
        for _ in range(number - 1):
            start = self._marked.find("\n", start) + 1
            if not start:
                return ""
        end = self._marked.find("\n", start)
        return self._text[start : end if end >= 0 else None].rstrip("\r")


class _Wanted:
    """A place on the way to a wanted pointer: its offsets (-1 if unknown), and places below it."""

    key_at: int
    value_at: int
    below: dict[str, _Wanted]

    def __init__(self) -> None:
        self.key_at = -1
        self.value_at = -1
        self.below = {}


def parts_of(pointer: str) -> list[str]:
    """Return the parts of a JSON pointer, unescaped as in RFC 6901, section 4."""
    return [part.replace("~1", "/").replace("~0", "~") for part in pointer.split("/")[1:]]


def locate(
    text: str, pointers: Iterable[str], *, at_keys: bool = False
) -> dict[str, tuple[int, int]]:
    """Return the line and column of each pointer's value, or of its key with ``at_keys``.

    ``text`` must be strict JSON. For a pointer to nothing, return the place of the nearest
    existing value above it. For a value without a key (an entry of a list, the whole document),
    return the place of the value.
    """
    wanted = list(dict.fromkeys(pointers))
    if not wanted:
        return {}
    offsets = {
        pointer: key_at if at_keys and key_at >= 0 else value_at
        for pointer, (key_at, value_at) in _find(text, wanted).items()
    }
    places = _places(text, offsets.values())
    return {pointer: places[offset] for pointer, offset in offsets.items()}


def place_findings(text: str, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings in the same order, each with the line and column of its pointer.

    Findings that already have a line keep it.
    """
    known = tuple(findings)
    wanted = list(dict.fromkeys(finding.pointer for finding in known if not finding.line))
    if not wanted:
        return known
    found = _find(text, wanted)
    offsets = []
    for finding in known:
        key_at, value_at = found.get(finding.pointer, (-1, -1))
        offsets.append(key_at if finding.at_key and key_at >= 0 else value_at)
    places = _places(text, offsets)
    return tuple(
        finding if finding.line else _placed(finding, places[offset])
        for finding, offset in zip(known, offsets, strict=True)
    )


def _placed(finding: Finding, place: tuple[int, int]) -> Finding:
    return finding._replace(line=place[0], column=place[1])


def _places(text: str, offsets: Iterable[int]) -> dict[int, tuple[int, int]]:
    lines = Lines(text)
    return {offset: lines.place(offset) for offset in sorted(set(offsets)) if offset >= 0}


def _find(text: str, pointers: list[str]) -> dict[str, tuple[int, int]]:
    """Return for each pointer the offsets of its key (or -1) and its value.

    A pointer to nothing gets -1 and the offset of the nearest existing value above it.
    """
    root = _Wanted()
    for pointer in pointers:
        node = root
        for part in parts_of(pointer):
            node = node.below.setdefault(part, _Wanted())
    root.value_at = _skip_blank(text, 0)
    todo = [root]
    while todo:
        node = todo.pop()
        if text[node.value_at : node.value_at + 1] == "{":
            _find_in_object(text, node)
        elif text[node.value_at : node.value_at + 1] == "[":
            _find_in_list(text, node)
        todo += [child for child in node.below.values() if child.below and child.value_at >= 0]
    return {pointer: _nearest(root, pointer) for pointer in pointers}


def _nearest(root: _Wanted, pointer: str) -> tuple[int, int]:
    node = root
    for part in parts_of(pointer):
        child = node.below[part]
        if child.value_at < 0:
            # The value does not exist: mark the value that lacks it.
            return -1, node.value_at
        node = child
    return node.key_at, node.value_at


def _find_in_object(text: str, node: _Wanted) -> None:
    left = len(node.below)
    at = _skip_blank(text, node.value_at + 1)
    while left and text[at] == '"':
        key, after = _scan_string(text, at + 1, True)
        value_at = _skip_blank(text, _skip_blank(text, after) + 1)
        child = node.below.get(key)
        if child is not None:
            child.key_at, child.value_at = at, value_at
            left -= 1
        if left:
            at = _next_entry(text, value_at)


def _find_in_list(text: str, node: _Wanted) -> None:
    left = len(node.below)
    at = _skip_blank(text, node.value_at + 1)
    index = 0
    while left and text[at] not in "]}":
        child = node.below.get(str(index))
        if child is not None:
            child.value_at = at
            left -= 1
        index += 1
        if left:
            at = _next_entry(text, at)


def _next_entry(text: str, value_at: int) -> int:
    """Skip the value at this offset and a comma after it; return the next offset."""
    _: Any
    _, after = _decode(text, value_at)
    at = _skip_blank(text, after)
    return _skip_blank(text, at + 1) if text[at] == "," else at


def _skip_blank(text: str, at: int) -> int:
    found = _BLANK.match(text, at)
    return found.end() if found else at
