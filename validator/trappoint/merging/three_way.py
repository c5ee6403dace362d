"""Merge three versions of a plan as trees, by id and key.

A change of only one version is taken. A thing that both versions changed is merged member by
member; a value that both changed in different ways is a conflict.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from trappoint.merging.conflicts import MergeConflict
from trappoint.merging.lists import Texts, is_set, key_of, keyed, merge_set, pair_groups, texts_of
from trappoint.merging.orders import merge_order, merge_strictly
from trappoint.merging.versions import Part, Trio, choose, same, shared_by
from trappoint.tidying.tree import MISSING, Missing, Tree, Value, VersionClash

if TYPE_CHECKING:
    from collections.abc import Collection

    from trappoint.merging.conflicts import Kind

Path = tuple[str, ...]
Undecided = Mapping[Path, tuple[Part, ...]]
"""The paths of conflicts in a base that was merged itself, each with the versions there."""


def merge_trees(
    base: Tree,
    ours: Tree,
    theirs: Tree,
    differing: Mapping[tuple[str, str], tuple[str, str]] | None = None,
    undecided: Undecided | None = None,
    unsettled: Collection[Path] = (),
) -> tuple[Tree, list[MergeConflict]]:
    """Merge three versions. The tree has a ``VersionClash`` at each conflict.

    ``differing`` are things of the base that both versions renamed, differently. ``undecided`` are
    the undecided places of the base. ``unsettled`` are paths that conflict even if ours and theirs
    agree.
    """
    merge = _Merge(undecided or {}, unsettled)
    for (kind, before), names in (differing or {}).items():
        for name in names:
            merge.named[kind, name] = before, *names
    merged = merge.members(Trio(base, ours, theirs), ())
    return merged, merge.conflicts


class _Merge:
    """Collects the conflicts on its way down the three trees."""

    def __init__(self, undecided: Undecided, unsettled: Collection[Path] = ()) -> None:
        self.undecided = undecided
        self.unsettled = unsettled
        self.above = {path[:end] for path in (*undecided, *unsettled) for end in range(len(path))}
        """All paths above an undecided place: the base is not sure there either."""
        self.conflicts: list[MergeConflict] = []
        self.named: dict[Path, tuple[str, str, str]] = {}
        """The id before, in ours and in theirs, by the path of a thing that both renamed."""

    def part(self, trio: Trio, path: Path) -> Part:
        base, ours, theirs = trio
        if path in self.named and ours is not theirs:
            self.conflicts.append(MergeConflict(path, trio, "named", names=self.named[path]))
            return trio.clash
        if path in self.undecided or path in self.unsettled:
            return self._undecided(trio, path)
        if len(path) == 1 and isinstance(base, dict) and MISSING in (ours, theirs):
            return self._section(trio, path)
        if isinstance(ours, dict) and isinstance(theirs, dict):
            # Both may have added different things under one id: their members must not be mixed.
            if base is not MISSING or len(path) < 2 or not _has_id(path):
                return self.members(trio, path)
        elif isinstance(ours, list) and isinstance(theirs, list):
            merged = self._list(trio, path)
            if merged is not None:
                return merged
        return self._value(trio, path)

    def members(self, trio: Trio, path: Path) -> Tree:
        base, ours, theirs = (part if isinstance(part, dict) else {} for part in trio)
        merged: Tree = {}
        for key in {**ours, **theirs, **base}:
            part = self.part(trio.below(key), (*path, key))
            if isinstance(part, VersionClash) and _has_id((*path, key)):
                self._look_for_new_id(trio, key)
            if not isinstance(part, Missing):
                merged[key] = part
        return {key: merged[key] for key in merge_order([*base], [*ours], [*theirs], merged)}

    def _value(self, trio: Trio, path: Path, kind: Kind = "value") -> Part:
        """Return the value of one version, or a clash of both."""
        chosen = self._choice(trio, path)
        if isinstance(chosen, VersionClash):
            self.conflicts.append(MergeConflict(path, trio, kind))
        return chosen

    def _choice(self, trio: Trio, path: Path) -> Part:
        return choose(trio, sure=path not in self.above)

    def _undecided(self, trio: Trio, path: Path) -> Part:
        """Merge a value without a sure base: a conflict if ours and theirs differ in it."""
        if path not in self.unsettled:
            if same(trio.ours, trio.theirs):
                return choose(trio)
            if isinstance(trio.ours, dict) and isinstance(trio.theirs, dict):
                below = _Merge({})
                base = shared_by(self.undecided[path])
                merged = below.members(Trio(base, trio.ours, trio.theirs), path)
                if not below.conflicts:
                    return merged
        self.conflicts.append(MergeConflict(path, trio, "undecided"))
        return trio.clash

    def _look_for_new_id(self, around: Trio, key: str) -> None:
        """Add to the last conflict the id under which a removed thing seems to be there now."""
        base, ours, theirs = (part if isinstance(part, dict) else {} for part in around)
        taker = theirs if key in ours else ours
        if key in taker or key not in base:
            return
        old = _nameless(base[key])
        new = [id_ for id_ in taker if id_ not in base and same(_nameless(taker[id_]), old)]
        if len(new) == 1:
            self.conflicts[-1] = replace(self.conflicts[-1], new_id=new[0])

    def _section(self, trio: Trio, path: Path) -> Part:
        """Merge all things of a kind if a version removed the last of them with their key."""
        base, ours, theirs = ({} if part is MISSING else part for part in trio)
        if not isinstance(ours, dict) or not isinstance(theirs, dict):
            return self._value(trio, path)
        return self.members(Trio(base, ours, theirs), path) or MISSING

    def _list(self, trio: Trio, path: Path) -> Part | None:
        """Merge a list entry by entry; return None if it must be merged as one value."""
        base, ours, theirs = trio
        base = [] if base is MISSING else base
        if is_set(path):
            texts = texts_of(base, ours, theirs)
            return None if texts is None else self._set(trio, texts, path)
        if path == ("worked_together",):
            if not isinstance(chosen := self._choice(trio, path), VersionClash):
                return chosen  # with its groups in their order
            return self._groups(Trio(base, ours, theirs), path)
        key = key_of(path)
        if key is None or not isinstance(base, list):
            return None
        assert isinstance(ours, list)  # noqa: S101 - for the type checker
        assert isinstance(theirs, list)  # noqa: S101
        known = keyed(base, key), keyed(ours, key), keyed(theirs, key)
        if known[0] is None or known[1] is None or known[2] is None:
            return None
        return self._keyed(trio, Trio(*known), path)

    def _set(self, trio: Trio, texts: Texts, path: Path) -> Part:
        merged = merge_set(texts)
        if merged is None:
            return self._value(trio, path)
        if not merged and texts.ours and texts.theirs:
            return self._value(trio, path, "emptied")
        return list(merged)

    def _keyed(self, trio: Trio, known: Trio, path: Path) -> Part:
        """Merge a list by the keys of its entries."""
        before = len(self.conflicts)
        merged: dict[str, Value] = {}
        base, ours, theirs = (list(part) if isinstance(part, dict) else [] for part in known)
        for key in dict.fromkeys((*ours, *theirs, *base)):
            part = self.part(known.below(key), (*path, key))
            if isinstance(part, VersionClash):
                self._look_for_new_id(known, key)
            if not isinstance(part, Missing):
                merged[key] = part
        if len(path) == 1:
            return [merged[key] for key in merge_order(base, ours, theirs, merged)]
        order = merge_strictly(base, ours, theirs, merged)
        if order is not None and (order or not ours or not theirs):
            return [merged[key] for key in order]
        if len(self.conflicts) > before and isinstance(choose(trio), VersionClash):
            return trio.clash  # shown whole; its conflicts are already in the list
        del self.conflicts[before:]
        return self._value(trio, path, "emptied" if order is not None else "order")

    def _groups(self, trio: Trio, path: Path) -> Part | None:
        """Merge the groups of things that are worked together: a set of sets."""
        versions: list[list[list[str]]] = []
        for part in trio:
            groups = _groups_of(part)
            if groups is None:
                return None
            versions.append(groups)
        base, ours, theirs = versions
        from_ours, from_theirs = pair_groups(base, ours), pair_groups(base, theirs)
        merged: list[Value] = []
        for number, group in enumerate(base):
            one, other = from_ours.get(number), from_theirs.get(number)
            part = self._group(
                Trio(
                    list(group),
                    MISSING if one is None else list(ours[one]),
                    MISSING if other is None else list(theirs[other]),
                ),
                (*path, " ".join(group)),
            )
            if not isinstance(part, Missing):
                merged.append(part)
        used_ours, used_theirs = set(from_ours.values()), set(from_theirs.values())
        new = [group for number, group in enumerate(ours) if number not in used_ours]
        new += [group for number, group in enumerate(theirs) if number not in used_theirs]
        alike = dict.fromkeys(frozenset(group) for group in new)
        merged += [list(next(g for g in new if frozenset(g) == members)) for members in alike]
        return merged

    def _group(self, trio: Trio, path: Path) -> Part:
        if path in self.undecided or path in self.unsettled:
            return self._undecided(trio, path)
        texts = texts_of(*trio)
        if texts is None:
            return self._value(trio, path)
        merged = merge_set(texts)
        if merged is None:
            return self._value(trio, path)
        if len(merged) < 2 and not same(trio.ours, trio.theirs):
            return self._value(trio, path, "emptied")
        return list(merged)


def _nameless(value: Value) -> Value:
    """Return a thing without its key ``id``."""

    if isinstance(value, dict):
        return {key: member for key, member in value.items() if key != "id"}
    return value


def _has_id(path: Path) -> bool:
    return len(path) == 2 or (len(path) == 4 and path[0] == "signals" and path[2] == "arms")


def _groups_of(part: Part) -> list[list[str]] | None:
    if not isinstance(part, list):
        return None
    groups: list[list[str]] = []
    for entry in part:
        texts = texts_of(entry, entry, entry)
        if texts is None:
            return None
        groups.append(texts.ours)
    return groups
