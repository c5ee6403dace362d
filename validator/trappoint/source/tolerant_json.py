"""Reading a text as far as sense can be made of it, keeping where everything stands.

The strict reading stops at the first mistake. While somebody types there always is one, and the
rest of the text is still to be understood: what is open is taken to be closed where it has to be.
"""

from __future__ import annotations

import json
import re
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any, Literal

from trappoint.source.limits import MAX_DEPTH

_TOKEN = re.compile(
    r'[ \t\r\n]*("(?:[^"\\\r\n]|\\[^\r\n])*"?|[{}\[\],:]|[^\s{}\[\],:"]+|.|\Z)', re.DOTALL
)
_AFTER_TEXT = re.compile(r"[ \t]*(?:[,:\]}\r\n]|\Z)")
_ENDS_TEXT = re.compile(r"[,\]}]|[ \t]*$", re.MULTILINE)

_Path = tuple[str | int, ...]
"""The keys and indexes that lead to a value."""

Kind = Literal["object", "list", "text", "word"]


@dataclass(slots=True)
class JsonNode:
    """A value or a key with its offsets in characters from 0, ``end`` exclusive."""

    kind: Kind
    start: int
    end: int
    text: str = ""
    """The content of a string; the characters of any other word (a number, true)."""
    closed: bool = True
    """False if the closing quote or bracket is missing."""
    members: list[Member] = field(default_factory=list)
    items: list[JsonNode] = field(default_factory=list)

    @property
    def inner(self) -> tuple[int, int]:
        """The offsets of a string without its quotes."""
        return self.start + 1, self.end - 1 if self.closed else self.end

    def get(self, key: str) -> JsonNode | None:
        """Return the value of a key; the first one if the key is repeated."""
        return next((m.value for m in self.members if m.key.text == key), None)


@dataclass(slots=True)
class Member:
    """A key and its value, if it has one yet."""

    key: JsonNode
    value: JsonNode | None = None
    colon: int = -1
    """The offset of the colon; -1 if there is none yet."""


def read_tolerantly(text: str) -> JsonNode:
    """Return what a text says; an empty object where it says nothing. Nothing is raised.

    Where brackets do not match, the text is read again, and the beginnings of lines tell which
    bracket is missing: what begins no further right than an object did is not in it.
    """
    reader = _Reader(text)
    root = reader.run()
    return _Reader(text, by_lines=True).run() if reader.slips else root


def to_data(node: JsonNode | None) -> Any:
    """Return a node as plain data; None for a missing value. The first of equal keys counts."""
    if node is None:
        return None
    if node.kind == "object":
        found: dict[str, Any] = {}
        for member in node.members:
            found.setdefault(member.key.text, to_data(member.value))
        return found
    if node.kind == "list":
        return [to_data(item) for item in node.items]
    return node.text if node.kind == "text" else _word(node.text)


def _word(word: str) -> Any:
    try:
        return json.loads(word)
    except (ValueError, RecursionError):
        return None


class _Reader:
    def __init__(self, text: str, *, by_lines: bool = False) -> None:
        self.text = text
        self.by_lines = by_lines
        self.slips = 0
        """The number of unmatched brackets."""
        self.column = -1
        """How far right the line begins, before anything of it was read; -1 after that."""
        self.line_start = 0
        self.columns: list[int] = []
        """Of each open object and list, how far right its line begins."""
        self.last_column = 0
        self.root: JsonNode | None = None
        self.open: list[JsonNode] = []
        self.wants_key = True
        """In an object: whether a key comes next, or the value of the last one."""
        self.line_end = -1
        """The offset up to which the quotes of the line are counted."""
        self.line_odd = False

    def run(self) -> JsonNode:
        at = 0
        while at < len(self.text):
            found = _TOKEN.match(self.text, at)
            assert found is not None  # noqa: S101 - the last choice takes anything
            if self.by_lines and found.start(1) > at:
                self._blank(at, found.start(1))
            at = found.end()
            if found.end(1) > found.start(1):
                at = self._take(found.group(1), found.start(1), at)
        self.slips += len(self.open)
        for node in self.open:
            node.closed, node.end = False, len(self.text)
        return self.root or JsonNode("object", 0, len(self.text), closed=False)

    def _take(self, token: str, at: int, end: int) -> int:
        char = token[0]
        if self.column >= 0:
            self.last_column = self.column
            self._begin_line(char, at)
            self.column = -1
        if char == '"':
            return self._text(token, at, end)
        if char in "{[":
            self._begin(JsonNode("object" if char == "{" else "list", at, end))
        elif char in "}]":
            self._close("object" if char == "}" else "list", end)
        elif char == ",":
            self.wants_key = True
        elif char == ":":
            self._colon(at)
        else:
            self._put(JsonNode("word", at, end, token))
        return end

    def _blank(self, start: int, end: int) -> None:
        line = max(self.text.rfind("\n", start, end), self.text.rfind("\r", start, end))
        if line >= 0:
            self.column = end - line - 1
            self.line_start = line + 1

    def _begin_line(self, char: str, at: int) -> None:
        """Close what this line cannot be in, as it begins too far left."""
        own = self.column + 1 if char in "}]" else self.column
        while len(self.open) > 1 and self.columns[-1] >= own and char in '"{[}]':
            if self.open[-1].start >= self.line_start:
                break
            node = self.open.pop()
            self.columns.pop()
            node.closed, node.end = False, at
            self.wants_key = True

    def _text(self, token: str, at: int, end: int) -> int:
        closed = len(token) > 1 and token[-1] == '"' and not _escaped(token)
        if closed and self._odd(at) and not _AFTER_TEXT.match(self.text, end):
            closed = False  # it swallowed the beginning of the next text of the line
        if not closed:
            cut = _ENDS_TEXT.search(self.text, at + 1)
            end = min(end, cut.start()) if cut and cut.start() > at else end
        raw = self.text[at:end]
        said = raw[1:-1] if closed else raw[1:]
        if "\\" in said:
            with suppress(ValueError):
                said = json.loads(f'"{said}"')
        self._put(JsonNode("text", at, end, said, closed))
        return end

    def _odd(self, at: int) -> bool:
        """Return whether a line has an odd number of quotes: one that is not closed."""
        if at >= self.line_end:
            start = self.text.rfind("\n", 0, at) + 1
            stop = self.text.find("\n", at)
            self.line_end = stop if stop >= 0 else len(self.text)
            line = self.text[start : self.line_end]
            self.line_odd = bool((line.count('"') - line.count('\\"')) % 2)
        return self.line_odd

    def _begin(self, node: JsonNode) -> None:
        if len(self.open) == MAX_DEPTH:
            return
        self._put(node)
        self.open.append(node)
        self.columns.append(self.last_column)
        self.wants_key = True

    def _put(self, node: JsonNode) -> None:
        if self.root is None:
            self.root = node
        elif not self.open:
            return  # text after the end of the plan
        elif self.open[-1].kind == "list":
            self.open[-1].items.append(node)
        else:
            self._put_into_object(self.open[-1], node)

    def _put_into_object(self, box: JsonNode, node: JsonNode) -> None:
        if self.wants_key or not box.members:
            if node.kind in ("object", "list"):
                empty = JsonNode("text", node.start, node.start)
                box.members.append(Member(empty, node, node.start))
            else:
                box.members.append(Member(node))
                self.wants_key = False
        elif box.members[-1].colon < 0:
            # No colon came: what stands here is another key.
            self.wants_key = True
            self._put_into_object(box, node)
        else:
            box.members[-1].value = node
            self.wants_key = True

    def _colon(self, at: int) -> None:
        if self.open and self.open[-1].kind == "object" and self.open[-1].members:
            last = self.open[-1].members[-1]
            if last.value is None and last.colon < 0:
                last.colon = at
                self.wants_key = False

    def _close(self, kind: Kind, end: int) -> None:
        if not any(node.kind == kind for node in self.open):
            self.slips += 1
            return
        while self.open:
            node = self.open.pop()
            self.columns.pop()
            node.end = end if node.kind == kind else end - 1
            if node.kind == kind:
                break
            node.closed = False
            self.slips += 1
        self.wants_key = True


def _escaped(token: str) -> bool:
    """Return whether the last quote of a text is an escaped one."""
    if token[-2] != "\\":
        return False
    body = token[1:-1]
    return (len(body) - len(body.rstrip("\\"))) % 2 == 1


@dataclass(slots=True)
class SyntaxSpot:
    """What stands at an offset."""

    path: _Path
    """The path to the value; for a key, to its object."""
    role: Literal["key", "value"]
    box: JsonNode
    """The object or list that it is in."""
    node: JsonNode | None
    """The key, text or word; None if there is room for one."""
    member: Member | None = None
    """The member whose key or value it is."""


def spot_at(root: JsonNode, offset: int) -> SyntaxSpot | None:
    """Return what stands at an offset, or may be put there; None outside of the plan."""
    node: JsonNode = root
    path: _Path = ()
    while _inside(node, offset):
        found: tuple[JsonNode, _Path] | SyntaxSpot = (
            _in_object(node, offset, path)
            if node.kind == "object"
            else _in_list(node, offset, path)
        )
        if isinstance(found, SyntaxSpot):
            return found
        node, path = found
    return None


def _inside(node: JsonNode, offset: int) -> bool:
    return node.kind in ("object", "list") and (
        node.start < offset < node.end or (node.start < offset == node.end and not node.closed)
    )


def _in_object(box: JsonNode, offset: int, path: _Path) -> tuple[JsonNode, _Path] | SyntaxSpot:
    for member in box.members:
        key, value = member.key, member.value
        below = (*path, key.text)
        if key.start <= offset <= key.end and key.end > key.start:
            return SyntaxSpot(path, "key", box, key, member)
        if value is not None and value.start <= offset <= value.end:
            if _inside(value, offset):
                return value, below
            if value.kind in ("text", "word"):
                return SyntaxSpot(below, "value", box, value, member)
        if value is None and 0 <= member.colon < offset:
            later = [other for other in box.members if other.key.start > member.colon]
            if not later or offset < later[0].key.start:
                return SyntaxSpot(below, "value", box, None, member)
    return SyntaxSpot(path, "key", box, None)


def _in_list(box: JsonNode, offset: int, path: _Path) -> tuple[JsonNode, _Path] | SyntaxSpot:
    for index, item in enumerate(box.items):
        if item.start <= offset <= item.end:
            if _inside(item, offset):
                return item, (*path, index)
            if item.kind in ("text", "word"):
                return SyntaxSpot((*path, index), "value", box, item)
    before = sum(item.end <= offset for item in box.items)
    return SyntaxSpot((*path, before), "value", box, None)
