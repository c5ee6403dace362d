"""All names in a text, and the things that they name."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.core.kinds import LINES
from trappoint.model.references import Kinds, Path, mentions, names_on_boards
from trappoint.source.tolerant_json import JsonNode, read_tolerantly, to_data

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.model.references import Mention, OnBoard

Key = tuple[str, str]
"""The kind of a thing (the plan's key, ``arms``, ``legs``, ``joints``, ``edges``) and its name."""


class Name(NamedTuple):
    """A name at one place of the text."""

    kinds: Kinds
    name: str
    start: int
    end: int
    defines: bool
    path: Path
    """The path to the text that contains it; for a key, with the key."""
    whole: tuple[int, int]
    """The offsets of the whole text or key, with its quotes."""
    around: tuple[str, str] = ("", "")
    """If the text has escapes, the name takes up all of it: the text before and after the
    name."""
    boards: tuple[str, ...] = ()
    """For a thing on a board: the boards from this plan down to it."""


class LiveText:
    """A text that someone is typing, parsed as far as possible."""

    def __init__(self, text: str) -> None:
        """Parsing waits for the first use: the text may change before."""
        self.text = text

    @cached_property
    def root(self) -> JsonNode:
        """The syntax tree, with offsets."""
        return read_tolerantly(self.text)

    @cached_property
    def data(self) -> dict[str, Any]:
        """The text as plain data of any shape."""
        data = to_data(self.root)
        return data if isinstance(data, dict) else {}

    @cached_property
    def names(self) -> tuple[Name, ...]:
        """Every name of something in this plan, in the order of the text."""
        return tuple(name for name in self._all_names if not name.boards)

    @cached_property
    def on_boards(self) -> tuple[Name, ...]:
        """Every name of something on a board: ``p1`` in ``west/p1``."""
        return tuple(name for name in self._all_names if name.boards)

    @cached_property
    def _all_names(self) -> tuple[Name, ...]:
        return tuple(_names_in(self.root, ()))

    @cached_property
    def defined(self) -> dict[Key, list[Name]]:
        """From each thing to the places that define it; more than one is a mistake."""
        found: dict[Key, list[Name]] = {}
        for name in self.names:
            if name.defines:
                found.setdefault((name.kinds[0], name.name), []).append(name)
        return found

    @cached_property
    def used(self) -> dict[Key, list[Name]]:
        """From each thing to all places that name it, its definition included."""
        found: dict[Key, list[Name]] = {}
        for name in self.names:
            found.setdefault(self.key_of(name), []).append(name)
        return found

    def key_of(self, name: Name) -> Key:
        """Return the thing that a name means. An unknown name has the first kind allowed there."""
        for kind in name.kinds:
            if (kind, name.name) in self.defined:
                return kind, name.name
        return name.kinds[0], name.name

    def known(self, key: Key) -> bool:
        """Return whether the plan defines a thing."""
        return key in self.defined or (key[0] in LINES and key in self.used)

    def at(self, offset: int) -> Name | None:
        """Return the name at an offset; between two names, the second."""
        found = [name for name in self.names if name.start <= offset <= name.end]
        if not found:
            # On the quotes of a text that is one name, or on a thing on a board.
            found = [
                name
                for name in self.names
                if name.whole[0] <= offset <= name.whole[1]
                and (name.kinds == ("boards",) or name.end - name.start == _inner(name.whole))
            ]
        return max(found, key=lambda name: name.start, default=None)

    def on_board_at(self, offset: int) -> Name | None:
        """Return the name of something on a board at an offset."""
        found = [name for name in self.on_boards if name.start <= offset <= name.end]
        return max(found, key=lambda name: name.start, default=None)

    def beyond(self, board: Name) -> Name | None:
        """Return the name of the thing on a board in a text that also names the board."""
        found = [name for name in self.on_boards if name.whole == board.whole]
        return found[-1] if found and board.kinds == ("boards",) else None

    def ids(self, *kinds: str) -> list[str]:
        """Return the ids of these kinds, in the order of the text, without repeats."""
        return list(dict.fromkeys(name for kind, name in self.defined if kind in kinds))


def _inner(whole: tuple[int, int]) -> int:
    return whole[1] - whole[0] - 2


def _names_in(node: JsonNode, path: Path) -> Iterator[Name]:
    todo: list[tuple[JsonNode, Path]] = [(node, path)]
    found: list[Name] = []
    while todo:
        node, path = todo.pop()
        for member in node.members:
            below = (*path, member.key.text)
            found += _names_of(member.key, below, at_key=True)
            if member.value is not None:
                todo.append((member.value, below))
        todo += [(item, (*path, index)) for index, item in enumerate(node.items)]
        if node.kind == "text" and path:
            found += _names_of(node, path, at_key=False)
    return iter(sorted(found, key=lambda name: name.start))


def _names_of(node: JsonNode, path: Path, *, at_key: bool) -> Iterator[Name]:
    if node.kind != "text":
        return
    for found in mentions(path, node.text, at_key=at_key):
        yield _name(node, path, found, defines=found.defines)
        if found.beyond:
            for there in names_on_boards(node.text, found):
                yield _name(node, path, there, boards=there.boards)


def _name(
    node: JsonNode,
    path: Path,
    found: Mention | OnBoard,
    *,
    defines: bool = False,
    boards: tuple[str, ...] = (),
) -> Name:
    start, end = node.inner
    around = ("", "")
    if end - start != len(node.text):  # with escapes
        around = (node.text[: found.start], node.text[found.end :])
    else:
        start, end = start + found.start, start + found.end
    whole = (node.start, node.end)
    return Name(found.kinds, found.name, start, end, defines, path, whole, around, boards)
