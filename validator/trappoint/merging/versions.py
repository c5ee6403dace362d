"""Compare and merge versions of one value."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Final, NamedTuple

from trappoint.tidying.tree import MISSING, Missing, Number, Value, VersionClash

if TYPE_CHECKING:
    from collections.abc import Sequence

Part = Value | Missing

UNKNOWN: Final = Missing()
"""The value of a criss-cross merge's base if its own bases differ. It equals no other value."""


class Trio(NamedTuple):
    """One value in three versions of a plan; MISSING in a version that does not have it."""

    base: Part
    ours: Part
    theirs: Part

    def below(self, key: str) -> Trio:
        """Return the three versions of a member."""
        return Trio(*(_member(part, key) for part in self))

    @property
    def clash(self) -> VersionClash:
        """The two versions, for a person to choose from."""
        return VersionClash(self.ours, self.theirs, self.base)


def _member(part: Part, key: str) -> Part:
    if isinstance(part, dict):
        return part.get(key, MISSING)
    return UNKNOWN if part is UNKNOWN else MISSING


def same(one: Part, other: Part) -> bool:
    """Return whether two values are the same data; the digits of numbers may differ."""
    if isinstance(one, Number) and isinstance(other, Number):
        return one.value() == other.value()
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    return type(one) is type(other) and one == other


def choose(trio: Trio, *, sure: bool = True) -> Part:
    """Return the value of the version that changed it.

    Returns a clash if both changed it in different ways, or if they differ and the base is not
    ``sure``.
    """
    base, ours, theirs = trio
    if same(ours, theirs):
        # The same number in other digits: take the version that changed the digits.
        if ours == base:
            return theirs
        if theirs == base:
            return ours
        return min(ours, theirs, key=written)
    if sure and same(base, ours):
        return theirs
    if sure and same(base, theirs):
        return ours
    return trio.clash


def shared_by(parts: Sequence[Part]) -> Part:
    """Return the common data of several versions of the base; UNKNOWN if they differ."""
    first, *others = parts
    if all(same(first, other) for other in others):
        return first
    boxes = [{} if part is MISSING else part for part in parts]
    if not all(isinstance(box, dict) for box in boxes):
        return UNKNOWN
    known = [box for box in boxes if isinstance(box, dict)]
    keys = dict.fromkeys(key for box in known for key in box)
    return {
        key: shared_by([box.get(key, MISSING) for box in known])  # type: ignore[misc]  # no MISSING
        for key in keys
    }


def written(value: Part) -> str:
    """Return a value as JSON on one line, with sorted keys."""

    return json.dumps(value, ensure_ascii=False, sort_keys=True, default=_other)


def _other(value: object) -> str:
    return value.digits if isinstance(value, Number) else repr(value)
