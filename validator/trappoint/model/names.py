"""What people call the things of a plan: the name that the plan gives, and the id to type."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

from trappoint.core.quoting import visible

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.model.layout import Layout

_LONGEST = 60


class Names:
    """The names in one plan. Kinds are the keys of its maps (``core.kinds``), and ``arms``."""

    def __init__(self, layout: Layout) -> None:
        self._layout = layout

    def called(self, kind: str, key: str) -> str:
        """Return the name of a thing with its id, as in ``Goods loop (loop-west)``.

        Returns the id alone if the plan gives no name, or the id as the name. An arm without a
        name has that of its signal.
        """
        name = self.name(kind, key)
        return f"{name} ({key})" if name and name.casefold() != key.casefold() else key

    def name(self, kind: str, key: str) -> str:
        """Return the name that the plan gives, in one line, shortened if long; empty if none."""
        thing = self._things(kind).get(key)
        if thing is None:
            return ""
        name: str = thing.title if kind == "edges" else thing.name
        if kind == "arms" and not name:
            return self.name("signals", thing.signal)
        name = visible(name)
        return name if len(name) <= _LONGEST else name[: _LONGEST - 3] + "..."

    def _things(self, kind: str) -> Mapping[str, Any]:
        if kind == "arms":
            return self._arms
        if kind == "edges":
            return self._edges
        things: Mapping[str, Any] = getattr(self._layout, kind, {})
        return things

    @cached_property
    def _arms(self) -> Mapping[str, Any]:
        return {arm.id: arm for arm in self._layout.arms()}

    @cached_property
    def _edges(self) -> Mapping[str, Any]:
        return {edge.name: edge for edge in self._layout.edges}
