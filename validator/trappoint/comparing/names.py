"""From the ids of the old plan to those of the new one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.comparing.terms import MISSING, Field, Ref

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.comparing.terms import Atom, Key


GONE = "gone"
"""The kind of a reference to a removed thing."""


class Names:
    """The pairs of things of the old plan and the new one."""

    def __init__(self, found: Mapping[Key, Key]) -> None:
        self.found = found
        self._back = set(found.values())

    def was_there(self, ref: Ref) -> bool:
        """Return whether the old plan has this thing of the new one."""
        return (ref.kind, ref.id) in self._back

    def field_now(self, field: Field) -> Field:
        """Return a field of the old plan with the new plan's ids."""
        return Field(
            tuple(tuple(self._atom(atom) for atom in entry) for entry in field.entries),
            field.ordered,
        )

    def _atom(self, atom: Atom) -> Atom:
        return self.ref_now(atom) if isinstance(atom, Ref) else atom

    def ref_now(self, ref: Ref) -> Ref:
        """Return a reference of the old plan as one of the new; of kind ``gone`` if removed."""
        if ref.kind == MISSING:
            return ref
        found = self.found.get((ref.kind, ref.id))
        return Ref(GONE, ref.id) if found is None else Ref(*found)

    def every_now(self, name: str) -> set[str]:
        """Return the new ids of an old id, which things of several kinds may share."""

        return {new[1] for old, new in self.found.items() if old[1] == name}
