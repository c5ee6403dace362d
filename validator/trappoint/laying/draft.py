"""A plan that is being worked on: the tree of its text, with the author's order and digits."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from trappoint.core.kinds import LISTS, MAPS
from trappoint.core.quoting import number
from trappoint.model.building import build_layout
from trappoint.model.names import shown, with_id
from trappoint.schema.published import FORMAT
from trappoint.tidying.tidy import write_tree
from trappoint.tidying.tree import Number, Tree, Value

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.model.layout import Layout
    from trappoint.tidying.tree import SourceTree

Thing = dict[str, Any]
"""The object of one thing in the tree; its numbers are of type ``Number``."""


class Draft:
    """A plan that is being worked on. The schema must accept its tree."""

    def __init__(self, sheet: SourceTree | None = None) -> None:
        self.tree: Tree = {"format": FORMAT, "tracks": {}} if sheet is None else sheet.tree
        self.gaps = set() if sheet is None else set(sheet.gaps)
        self.crlf = sheet is not None and sheet.crlf
        self._touched: dict[str, None] = {}

    def text(self) -> str:
        """Return the text of the plan in the one layout."""
        return write_tree(self.tree, frozenset(self.gaps), crlf=self.crlf)

    def data(self) -> dict[str, Any]:
        """Return the plan as plain data, as ``read_document`` gives it."""
        found: dict[str, Any] = plain(self.tree)
        return found

    def layout(self) -> Layout:
        """Return the plan as it is now in typed form, without its boards."""
        return build_layout(self.data())

    def things(self, kind: str) -> dict[str, Thing]:
        """Return the things of a kind, by id, to read and to change; empty if there are none."""
        found = self.tree.get(kind)
        return found if isinstance(found, dict) else {}  # type: ignore[return-value]  # objects

    def thing(self, kind: str, key: str) -> Thing:
        """Return one thing, which must exist."""
        return self.things(kind)[key]

    def called(self, kind: str, key: str) -> str:
        """Return the name of a thing with its id, as in ``Goods loop (loop-west)``."""
        return with_id(shown(str(self.things(kind).get(key, {}).get("name", ""))), key)

    def add(self, kind: str, key: str, thing: Thing, after: str | None = None) -> None:
        """Add a thing, right after another one of its kind or at the end."""
        things = self.tree.setdefault(kind, {})
        assert isinstance(things, dict)  # noqa: S101 - the schema accepts the tree
        insert_after(things, key, thing, after)
        self.touch(kind, key)

    def remove(self, kind: str, key: str) -> None:
        """Remove a thing alone; ``mending`` removes what depends on it."""
        things = self.things(kind)
        follower = _next(list(things), key)
        if (kind, key) in self.gaps:
            self.gaps.discard((kind, key))
            if follower is not None:
                self.gaps.add((kind, follower))
        del things[key]
        self.drop_empty(kind)

    def drop_empty(self, kind: str) -> None:
        """Remove an empty map or list; ``tracks`` stays, because every plan has it."""
        if kind in (*MAPS, *LISTS) and kind != "tracks" and self.tree.get(kind) in ({}, []):
            if (kind,) in self.gaps:
                self.gaps.discard((kind,))
            del self.tree[kind]

    def list_of(self, key: str) -> list[Any]:
        """Return a list of the plan to add to, such as ``worked_together``."""
        found = self.tree.setdefault(key, [])
        assert isinstance(found, list)  # noqa: S101 - the schema accepts the tree
        return found

    def arms(self) -> dict[str, Thing]:
        """Return all arms of the plan's own signals, by id."""
        return {
            arm["id"]: arm for signal in self.things("signals").values() for arm in signal["arms"]
        }

    # --- what changed

    def touch(self, kind: str, key: str) -> None:
        """Note that a thing is new or changed."""
        self._touched[f"{kind}/{key}"] = None

    def touched(self) -> tuple[str, ...]:
        """Return the places that are new or changed, without those that are gone again."""
        return tuple(place for place in self._touched if self._has(place))

    def _has(self, place: str) -> bool:
        kind, _, key = place.partition("/")
        return key in (self.arms() if kind == "arms" else self.things(kind))


def insert_after(things: dict[str, Any], key: str, thing: Any, after: str | None) -> None:
    """Put an entry right after another one in the order of a map, or at the end."""
    later = list(things)[list(things).index(after) + 1 :] if after in things else []
    things[key] = thing
    for name in later:
        things[name] = things.pop(name)


def _next(names: list[str], key: str) -> str | None:
    at = names.index(key) + 1
    return names[at] if at < len(names) else None


# --- numbers


def plain(value: Any) -> Any:
    """Return a value of the tree as plain data."""
    if isinstance(value, Number):
        return value_of(value)
    if isinstance(value, dict):
        # Most values are texts.
        return {key: inner if type(inner) is str else plain(inner) for key, inner in value.items()}
    return [plain(inner) for inner in value] if isinstance(value, list) else value


def value_of(value: Number) -> float:
    """Return a number of the tree; a whole one as an ``int``."""
    try:
        return int(value.digits)
    except ValueError:
        return float(value.digits)


def measure_of(thing: Mapping[str, Any], key: str) -> float | None:
    """Return a measure of a thing; None if it has none."""
    found = thing.get(key)
    return value_of(found) if isinstance(found, Number) else None


def spelled(value: float) -> Number:
    """Return a number for the tree, without more digits than a person would write."""
    return Number(number(round(value, 3) if math.isfinite(value) else value))


def as_tree(value: Any) -> Value:
    """Return plain data as a value of the tree."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        if isinstance(value, dict):
            return {key: as_tree(inner) for key, inner in value.items()}
        return [as_tree(inner) for inner in value] if isinstance(value, list | tuple) else value
    return spelled(value)
