"""Names of things for messages: the name that the plan gives, with the id to type."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

from trappoint.core.kinds import ONE_OF
from trappoint.core.quoting import visible

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.model.layout import Layout

_LONGEST = 60


class Names:
    """The names in one plan; a kind is a key of its maps (``core.kinds``) or ``arms``."""

    def __init__(self, layout: Layout) -> None:
        self._layout = layout

    def called(self, kind: str, key: str) -> str:
        """Return the name of a thing with its id, as in ``Goods loop (loop-west)``.

        Returns the id alone if the plan gives no name or if the name equals the id. An arm without
        a name has the name of its signal.
        """
        return with_id(self.name(kind, key), key)

    def thing(self, kind: str, key: str, word: str = "") -> str:
        """Return the name of a thing with its id, or a noun and the id: ``signal 2``.

        The noun is ``word``, by default that of the kind.
        """
        called = self.called(kind, key)
        return called if called != key else f"{word or ONE_OF[kind]} {key}"

    def name(self, kind: str, key: str) -> str:
        """Return the name that the plan gives, on one line, shortened if long; empty if none."""
        thing = self._things(kind).get(key)
        if thing is None:
            return ""
        name: str = thing.title if kind == "edges" else thing.name
        if kind == "arms" and not name:
            return self.name("signals", thing.signal)
        return shown(name)

    def _things(self, kind: str) -> Mapping[str, Any]:
        if kind == "arms":
            return self._arms
        if kind == "edges":
            return self._edges
        if kind == "boards":
            return {}  # A layout has their ids alone.
        things: Mapping[str, Any] = getattr(self._layout, kind, {})
        return things

    @cached_property
    def _arms(self) -> Mapping[str, Any]:
        return {arm.id: arm for arm in self._layout.arms()}

    @cached_property
    def _edges(self) -> Mapping[str, Any]:
        return {edge.name: edge for edge in self._layout.edges}


def shown(name: str) -> str:
    """Return a name on one line, shortened if long."""
    name = visible(name)
    return name if len(name) <= _LONGEST else name[: _LONGEST - 3] + "..."


def with_id(name: str, key: str) -> str:
    """Return a name with the id: ``Goods loop (loop-west)``; the id alone if they are the same."""
    return f"{name} ({key})" if name and name.casefold() != key.casefold() else key
