"""The lists of a plan, and the keys of their entries.

Lists whose order means nothing are merged as sets. Arms have their ids as keys, and their order has
a meaning. Each other list is one value.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.merging.orders import merge_order
from trappoint.tidying.tree import Value

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint.merging.versions import Part

Entries = list[Value]

_SETS = {
    "platforms": ("tracks",),
    "turntables": ("roads",),
    "signals": ("duties",),
    "yards": ("tracks", "points", "crossings", "turntables"),
    "levers": ("points", "arms"),
    "scenes": ("off",),
}


def is_set(path: tuple[str, ...]) -> bool:
    """Return whether a list of texts is a set: its order means nothing."""
    if len(path) == 3:
        return path[2] in _SETS.get(path[0], ())
    return len(path) == 5 and path[0] == "signals" and path[4] == "never_with"


def key_of(path: tuple[str, ...]) -> Callable[[Value], str | None] | None:
    """Return the function for the keys of a list's entries; None if they have no keys."""
    if len(path) == 3 and path[0] == "signals" and path[2] == "arms":
        return _arm
    if path == ("accept",):
        return _accepted
    return _join if path == ("joins",) else None


def keyed(entries: Entries, key: Callable[[Value], str | None]) -> dict[str, Value] | None:
    """Return the entries by their keys; None if an entry has no key or two have the same."""
    found = {known: entry for entry in entries if (known := key(entry)) is not None}
    return found if len(found) == len(entries) else None


def _texts(entry: Value, *keys: str) -> list[str] | None:
    if not isinstance(entry, dict):
        return None
    texts = [text for key in keys if isinstance(text := entry.get(key), str)]
    return texts if len(texts) == len(keys) else None


def _arm(entry: Value) -> str | None:
    return "".join(_texts(entry, "id") or ()) or None


def _accepted(entry: Value) -> str | None:
    return " at ".join(_texts(entry, "rule", "at") or ()) or None


def _join(entry: Value) -> str | None:
    return " to ".join(sorted(_texts(entry, "a", "b") or ())) or None


class Texts(NamedTuple):
    """Three versions of a list of texts."""

    base: list[str]
    ours: list[str]
    theirs: list[str]


def texts_of(*lists: Part) -> Texts | None:
    """Return three lists of texts; None if one is no list of texts, or has a text twice."""
    found = []
    for entries in lists:
        if not isinstance(entries, list):
            return None
        texts = [entry for entry in entries if isinstance(entry, str)]
        if len(set(texts)) != len(entries):
            return None
        found.append(texts)
    return Texts(*found)


def merge_set(texts: Texts) -> list[str] | None:
    """Merge lists whose order means nothing.

    Returns None if both replace the same text with different ones: a person must choose.
    """
    base, ours, theirs = map(set, texts)
    replaced = (base - ours) & (base - theirs)
    added = ours - base, theirs - base
    if replaced and all(added) and added[0] != added[1]:
        return None
    kept = (base & ours & theirs) | added[0] | added[1]
    return merge_order(*texts, kept)


def pair_groups(base: list[list[str]], side: list[list[str]]) -> dict[int, int]:
    """Return the index in ``side`` of each group of the base.

    Groups with the same members are paired first, then those that share the most members.
    """

    pairs: dict[int, int] = {}
    shared = sorted(
        (-len(set(old) & set(new)), set(old) != set(new), i, j)
        for i, old in enumerate(base)
        for j, new in enumerate(side)
        if set(old) & set(new)
    )
    exact = [entry for entry in shared if not entry[1]]
    taken: set[int] = set()
    for _, _, i, j in exact + shared:
        if i not in pairs and j not in taken:
            pairs[i] = j
            taken.add(j)
    return pairs
