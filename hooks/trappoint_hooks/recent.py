"""A cache with a memory limit."""

from __future__ import annotations

from collections import OrderedDict
from typing import TYPE_CHECKING, Generic, TypeVar

if TYPE_CHECKING:
    from collections.abc import Hashable

V = TypeVar("V")

MAX_BYTES = 64 * 1024 * 1024
"""The maximum size of one cache, in bytes, by its users' estimates."""


class Recent(Generic[V]):
    """Keeps values up to a sum of bytes, and drops the least recently used first.

    It always keeps the newest value, of any size.
    """

    def __init__(self, most: int = MAX_BYTES) -> None:
        """``most`` is the maximum sum, in bytes."""
        self._left = most
        self._kept: OrderedDict[Hashable, tuple[V, int]] = OrderedDict()

    def get(self, key: Hashable) -> V | None:
        """Return a value; None if it was never kept, or was dropped."""

        if key not in self._kept:
            return None
        self._kept.move_to_end(key)
        return self._kept[key][0]

    def keep(self, key: Hashable, value: V, size: int) -> None:
        """Keep a value of ``size`` bytes."""
        self._kept[key] = value, size
        self._left -= size
        while self._left < 0 and len(self._kept) > 1:
            _, (_, gone) = self._kept.popitem(last=False)
            self._left += gone
