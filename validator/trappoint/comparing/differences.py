"""Find the things that were added, removed, renamed, moved or changed, and their changed fields."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.comparing.model import FieldChange, ThingChange
from trappoint.comparing.sides import is_left_out
from trappoint.comparing.terms import Field, Ref
from trappoint.core.kinds import LINES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.comparing.model import Side
    from trappoint.comparing.names import Names
    from trappoint.comparing.terms import Thing, Things

NOTHING = Field(())

NAMED_BY_CONTENT = ("worked_together", "accept", "joins")
"""Things without an id: their names are made from their content."""


def things_changed(old: Side, new: Side, names: Names, *, worked: bool) -> Iterator[ThingChange]:
    """Yield the changes of things: those of the new plan in its order, then the removed ones.

    ``worked``: the routes of both plans are known. They then stand for the keys ``to`` and
    ``repeats`` of arms, which may have other values with the same meaning.
    """
    before, now = old.things or {}, new.things or {}
    back = {theirs: ours for ours, theirs in names.found.items()}
    for key, thing in now.items():
        ours = back.get(key)
        if _omitted(old, thing) or _omitted(new, thing):
            continue
        if ours is None:
            if thing.kind not in LINES:
                yield ThingChange(thing.kind, None, thing)
            continue
        if _omitted(new, before[ours]) or _omitted(old, before[ours]):
            continue
        change = _between(before[ours], thing, names, worked=worked)
        if change.fields or (change.renamed and not _follows(change, names)):
            yield change
    for key, thing in _gone(before, names):
        if thing.kind not in LINES and not _omitted(new, thing) and not _omitted(old, thing):
            yield ThingChange(key[0], thing, None)


def _follows(change: ThingChange, names: Names) -> bool:
    """Return whether a new name comes from other changes: of its content or of its board."""
    if change.kind in NAMED_BY_CONTENT or change.old is None or change.new is None:
        return True
    if change.kind == "joints" and ":" in change.old.id and ":" in change.new.id:
        return True  # the name of a joint between boards has the names of both

    (was, _, mine), (now, _, same) = change.old.id.rpartition("/"), change.new.id.rpartition("/")
    return bool(was) and mine == same and names.ref_now(Ref("boards", was)).id == now


def _gone(before: Things, names: Names) -> Iterator[tuple[tuple[str, str], Thing]]:
    return ((key, thing) for key, thing in before.items() if key not in names.found)


def _omitted(side: Side, thing: Thing) -> bool:
    return bool(side.left_out) and is_left_out(side, thing.kind, thing.id)


def _between(old: Thing, new: Thing, names: Names, *, worked: bool) -> ThingChange:
    fields = []
    for name in dict.fromkeys((*old.fields, *new.fields)):
        if name.startswith("_") or (worked and old.kind == "arms" and name in ("to", "repeats")):
            continue
        was = names.field_now(old.fields.get(name, NOTHING))
        now = new.fields.get(name, NOTHING)
        if not _equal(was, now):
            fields.append(FieldChange(name, was, now))
    was, now = (thing.fields.get("_stand", NOTHING) for thing in (old, new))
    if was.entries and now.entries and not _equal(was, now):
        fields.append(FieldChange("stand", was, now))
    return ThingChange(old.kind, old, new, tuple(fields))


def _equal(one: Field, other: Field) -> bool:
    if one.ordered:
        return one.entries == other.entries
    return set(one.entries) == set(other.entries)
