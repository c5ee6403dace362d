"""The terms of a comparison: things, their fields, and references to other things."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

Key = tuple[str, str]
"""A kind and an id. The kind is the plan's key (``tracks``), or one of those below."""

NOT_FIELDS = ("$schema", "format", "note", "id", "arms")
"""Keys that are not compared as fields of a thing. Arms are things themselves."""

MISSING = "missing"
"""The kind of a reference that leads nowhere."""


class Ref(NamedTuple):
    """A reference to another thing."""

    kind: str
    id: str


Atom = str | float | bool | None | Ref
Entry = tuple[Atom, ...]


class Field(NamedTuple):
    """One field of a thing: its entries, whose order may have a meaning."""

    entries: tuple[Entry, ...]
    ordered: bool = True


class Thing(NamedTuple):
    """One thing of a plan. Fields whose names begin with ``_`` only help to recognise it."""

    kind: str
    id: str
    fields: Mapping[str, Field]


Things = dict[Key, Thing]


def one(*atoms: Atom) -> Field:
    """Return a field of one entry; of no entry for a single None or empty text."""
    return Field((atoms,) if atoms not in ((None,), ("",)) else ())


def any_order(entries: Iterable[Entry]) -> Field:
    """Return a field whose entries have no order."""
    return Field(tuple(entries), ordered=False)


def post_of(arm: Thing) -> str | None:
    """Return the signal of an arm; None for an arm that cannot be understood."""

    field = arm.fields.get("signal")
    post = field.entries[0][0] if field is not None else None
    return post.id if isinstance(post, Ref) else None
