"""Merge the orders of keys and entries of two versions."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Collection, Hashable, Sequence

Key = TypeVar("Key", bound="Hashable")


def merge_order(
    base: Sequence[Key], ours: Sequence[Key], theirs: Sequence[Key], kept: Collection[Key]
) -> list[Key]:
    """Return the kept keys, in an order that follows both versions as far as they agree.

    ``kept`` are keys of ours or theirs. If both added a key in the same place, that of ours comes
    first.
    """
    one = [key for key in ours if key in kept]
    other = [key for key in theirs if key in kept]
    common = set(one) & set(other)
    if [key for key in one if key in common] == [key for key in other if key in common]:
        return _woven(one, other, common)
    if _moved(base, theirs) and not _moved(base, ours):
        one, other = other, one
    return _inserted(one, other)


def merge_strictly(
    base: Sequence[Key], ours: Sequence[Key], theirs: Sequence[Key], kept: Collection[Key]
) -> list[Key] | None:
    """Return the kept keys in the only order that fits both versions; None if there is none.

    There is none if both added a key in the same place, or if both moved keys.
    """
    one = [key for key in ours if key in kept]
    other = [key for key in theirs if key in kept]
    common = set(one) & set(other)
    if [key for key in one if key in common] == [key for key in other if key in common]:
        woven = _woven(one, other, common)
        return woven if woven == _woven(other, one, common) else None
    moved = _moved(base, ours), _moved(base, theirs)
    if moved == (True, False) and not set(other) - set(one):
        return one
    if moved == (False, True) and not set(one) - set(other):
        return other
    return None


def _moved(base: Sequence[Key], side: Sequence[Key]) -> bool:
    """Return whether a version has the kept keys of the base in another order."""
    old, new = set(base), set(side)
    return [key for key in base if key in new] != [key for key in side if key in old]


def _woven(one: list[Key], other: list[Key], common: set[Key]) -> list[Key]:
    """Merge two orders whose common keys have the same order."""
    woven: list[Key] = []
    at = 0
    for key in one:
        if key in common:
            while other[at] != key:
                woven.append(other[at])
                at += 1
            at += 1
        woven.append(key)
    return woven + other[at:]


def _inserted(one: list[Key], other: list[Key]) -> list[Key]:
    """Insert the keys of only the other order into the first, each after the key before it."""

    known = set(one)
    after: dict[Key | None, list[Key]] = {}
    before: Key | None = None
    for key in other:
        if key in known:
            before = key
        else:
            after.setdefault(before, []).append(key)
    placed = list(after.get(None, ()))
    for key in one:
        placed += [key, *after.get(key, ())]
    return placed
