"""Lift a clash of two values to the smallest thing that can be shown in both versions.

A person chooses between two versions of an arm, not between two words in the middle of a line. So
a clash is lifted to the thing with an id that has it. The commas must be right for either choice:
a thing that may be removed is followed by a thing that stays.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from trappoint.core.kinds import LISTS, MAPS
from trappoint.tidying.tree import Missing, Tree, Value, VersionClash

if TYPE_CHECKING:
    from collections.abc import Iterable

Side = Literal["ours", "theirs", "base"]


def lift_clashes(tree: Tree) -> Tree | VersionClash:
    """Return the tree with each clash lifted to the smallest thing that can be shown twice."""
    lifted = {key: _section(key, value) for key, value in tree.items()}
    return lifted if _some_sure(lifted.values()) else _both(tree)


def pick(value: Value, side: Side) -> Value | Missing:
    """Return one version of a tree with clashes."""
    if isinstance(value, VersionClash):
        found: Value | Missing = getattr(value, side)
        return found
    if isinstance(value, dict):
        return {
            key: found
            for key, member in value.items()
            if not isinstance(found := pick(member, side), Missing)
        }
    if isinstance(value, list):
        picked = [pick(entry, side) for entry in value]
        return [entry for entry in picked if not isinstance(entry, Missing)]
    return value


def _both(value: Value) -> VersionClash:
    return VersionClash(pick(value, "ours"), pick(value, "theirs"))


def _section(key: str, value: Value) -> Value:
    if isinstance(value, VersionClash) or not _clashes(value):
        return value
    if isinstance(value, dict) and key in MAPS:
        things = {id_: _thing(key, entry) for id_, entry in value.items()}
        return things if _some_sure(things.values()) else _both(value)
    if isinstance(value, list) and key in LISTS:
        entries = [_entry(entry) for entry in value]
        return entries if _some_sure(entries) else _both(value)
    return _both(value)


def _thing(kind: str, value: Value) -> Value:
    """Lift the clashes in a thing to the thing, or to its arms."""
    if kind == "signals" and isinstance(value, dict):
        arms = value.get("arms")
        others = (member for key, member in value.items() if key != "arms")
        if isinstance(arms, list) and not any(map(_clashes, others)):
            lifted = [_entry(arm) for arm in arms]
            # The order of arms has a meaning: no other arm can be moved to the end.
            if not lifted or not isinstance(lifted[-1], VersionClash) or lifted[-1].sure:
                return {**value, "arms": lifted}
    return _entry(value)


def _entry(value: Value) -> Value:
    return _both(value) if not isinstance(value, VersionClash) and _clashes(value) else value


def _some_sure(values: Iterable[Value]) -> bool:
    """Return whether one of them stays for every choice, or there are none."""

    found = [not isinstance(value, VersionClash) or value.sure for value in values]
    return any(found) or not found


def _clashes(value: Value) -> bool:
    if isinstance(value, dict):
        return any(map(_clashes, value.values()))
    if isinstance(value, list):
        return any(map(_clashes, value))
    return isinstance(value, VersionClash)
