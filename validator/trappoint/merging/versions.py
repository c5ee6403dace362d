"""Two versions of one value: are they the same, and what comes of them."""

from __future__ import annotations

import json
from typing import NamedTuple

from trappoint.tidying.tree import MISSING, Missing, Number, Value, VersionClash

Part = Value | Missing


class Trio(NamedTuple):
    """One value in three versions of a plan; MISSING where a version has none."""

    base: Part
    ours: Part
    theirs: Part

    def below(self, key: str) -> Trio:
        """Return the three versions of a member."""
        return Trio(
            *(part.get(key, MISSING) if isinstance(part, dict) else MISSING for part in self)
        )

    @property
    def clash(self) -> VersionClash:
        """The two versions that a person must choose between."""
        return VersionClash(self.ours, self.theirs)


def same(one: Part, other: Part) -> bool:
    """Tell whether two values are the same data, however their numbers are written."""
    if isinstance(one, Number) and isinstance(other, Number):
        return one.value() == other.value()
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    return type(one) is type(other) and one == other


def choose(trio: Trio) -> Part:
    """Return what one version made of a value that the other left alone.

    A clash where both changed it, each in its own way.
    """
    base, ours, theirs = trio
    if same(ours, theirs):
        # The same number in other digits: whoever wrote it anew is followed.
        if ours == base:
            return theirs
        if theirs == base:
            return ours
        return min(ours, theirs, key=written)
    if same(base, ours):
        return theirs
    if same(base, theirs):
        return ours
    return trio.clash


def written(value: Part) -> str:
    """Return a value as JSON on one line, its keys sorted: the same for each order of them."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, default=_other)


def _other(value: object) -> str:
    return value.digits if isinstance(value, Number) else repr(value)
