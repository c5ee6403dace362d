"""Where in its text a place of a document stands: lines and columns, looked up late.

Only the wanted places are looked for. The standard library's scanner skips what lies between,
so that a few findings in a large document cost little.
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
        """Take the text in; nothing is counted until it is asked for."""
        self._text = text
        # A lone CR becomes LF, so that one kind of end is left to look for; offsets stay.
        self._marked = _LONE_CR.sub("\n", text) if "\r" in text else text
        self._offset, self._line = 0, 1

    def place(self, offset: int) -> tuple[int, int]:
        """Return line and column of the character at this offset.

        Asked from the front to the back, all answers together cost one way through the text.
        """
        if offset < self._offset:
            self._offset, self._line = 0, 1
        self._line += self._marked.count("\n", self._offset, offset)
        self._offset = offset
        return self._line, offset - self._marked.rfind("\n", 0, offset)

    def line(self, number: int) -> str:
        """Return a line, counted from 1, without its end; empty if there is no such line."""
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
    """A place that is looked for, and the wanted places below it."""

    key_at: int
    value_at: int
    below: dict[str, _Wanted]

    def __init__(self) -> None:
        self.key_at = -1
        self.value_at = -1
        self.below = {}


def parts_of(pointer: str) -> list[str]:
    """Split a JSON pointer into its parts, unescaped as RFC 6901 section 4 asks."""
    return [part.replace("~1", "/").replace("~0", "~") for part in pointer.split("/")[1:]]


def locate(
    text: str, pointers: Iterable[str], *, at_keys: bool = False
) -> dict[str, tuple[int, int]]:
    """Return the line and column of each pointer's value, or of its key.

    ``text`` must be JSON that was read without a finding. Where a pointer leads to nothing, the
    nearest existing place above it is returned; where a value has no key (an entry of a list,
    the whole document), its own place is.
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
    """Return the findings, in their order, each with the line and column of its pointer.

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
    """Return the offsets of key (or -1) and value of each pointer, or of what is nearest."""
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
            # Nothing stands there: the mark goes under the value that lacks it.
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
    """Skip the value that begins here and a comma after it."""
    _: Any
    _, after = _decode(text, value_at)
    at = _skip_blank(text, after)
    return _skip_blank(text, at + 1) if text[at] == "," else at


def _skip_blank(text: str, at: int) -> int:
    found = _BLANK.match(text, at)
    return found.end() if found else at
