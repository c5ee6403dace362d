"""Ids through renames: what the things of the old plan are called now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.comparing.terms import MISSING, Field, Ref

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.comparing.terms import Atom, Key


GONE = "gone"
"""The kind of a reference to what is no longer there."""


class Names:
    """From the things of the old plan to those of the new."""

    def __init__(self, found: Mapping[Key, Key]) -> None:
        self.found = found
        self._back = set(found.values())

    def was_there(self, ref: Ref) -> bool:
        """Return whether a thing of the new plan was in the old one."""
        return (ref.kind, ref.id) in self._back

    def field_now(self, field: Field) -> Field:
        """Return a field of the old plan with the ids of now."""
        return Field(
            tuple(tuple(self._atom(atom) for atom in entry) for entry in field.entries),
            field.ordered,
        )

    def _atom(self, atom: Atom) -> Atom:
        return self.ref_now(atom) if isinstance(atom, Ref) else atom

    def ref_now(self, ref: Ref) -> Ref:
        """Return a reference of the old plan as one of the new; to what is gone, as ``gone``."""
        if ref.kind == MISSING:
            return ref
        found = self.found.get((ref.kind, ref.id))
        return Ref(GONE, ref.id) if found is None else Ref(*found)

    def every_now(self, name: str) -> set[str]:
        """Return what an id of the old plan may be now: things of several kinds may share it."""
        return {new[1] for old, new in self.found.items() if old[1] == name}
