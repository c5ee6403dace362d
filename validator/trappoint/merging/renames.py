"""Find the things that one version renamed, by their place, and rename them in the other version.

Only sure renames count: the old id is gone, the new id is new, the thing is in the same place, and
the other version still has it and has no other thing with the new id. All other things keep their
ids, and conflict if both versions changed them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.core.kinds import ELEMENTS
from trappoint.model.references import told_apart_from
from trappoint.model.renaming import Key, ids_in, renamed
from trappoint.tidying.tree import SourceTree

if TYPE_CHECKING:
    from collections.abc import Collection, Hashable, Iterator, Mapping

    from trappoint.comparing.model import Side
    from trappoint.comparing.names import Names
    from trappoint.comparing.terms import Field, Thing

PLACES: Mapping[str, tuple[str, ...]] = {
    "tracks": ("up", "down"),
    "platforms": ("tracks",),
    "signals": ("track", "for", "at_mm"),
    "arms": ("signal", "kind", "doll"),
    "yards": ("tracks", "points", "crossings", "turntables"),
}
"""The fields that give a thing its place. Points, crossings and turntables have the place of the
tracks that meet them."""


class Renames(NamedTuple):
    """The new ids of things of the base, in both versions."""

    ours: dict[Key, str]
    """The sure renames of ours, by the key in the base."""
    theirs: dict[Key, str]
    differing: dict[Key, tuple[str, str]]
    """Things that both versions renamed differently: the ids in ours and in theirs."""


def find_renames(base: SourceTree, ours: SourceTree, theirs: SourceTree) -> Renames:
    """Return the sure renames of both versions; none for a version that breaks the schema."""
    names = [ids_in(sheet.tree) for sheet in (base, ours, theirs)]
    found = [
        _renamed(base, side, names[0], own) for side, own in ((ours, names[1]), (theirs, names[2]))
    ]
    result = Renames({}, {}, {})
    for key in {**found[0], **found[1]}:
        kind = key[0]
        one, other = found[0].get(key), found[1].get(key)
        if one is not None and other is not None:
            if one == other:
                result.ours[key] = result.theirs[key] = one
            else:
                result.differing[key] = one, other
        elif one is not None and key in names[2] and _is_free(kind, one, names[2]):
            result.ours[key] = one
        elif other is not None and key in names[1] and _is_free(kind, other, names[1]):
            result.theirs[key] = other
    return result


def _is_free(kind: str, name: str, taken: Collection[Key]) -> bool:
    return all((other, name) not in taken for other in told_apart_from(kind))


def _renamed(
    base: SourceTree, side: SourceTree, before: set[Key], after: set[Key]
) -> dict[Key, str]:
    gone = {key for key in before - after if key[0] in PLACES or key[0] in ELEMENTS}
    if not gone or base.tree == side.tree:
        return {}
    from trappoint.comparing.comparison import match_things

    old, new = _side(base), _side(side)
    if old is None or new is None:
        return {}
    names = match_things(old, new)
    if names is None:
        return {}
    found = {
        key: names.found[key][1]
        for key in sorted(gone)
        if key in names.found and names.found[key] not in before and _stayed(old, new, key, names)
    }
    return {key: name for key, name in found.items() if _alone(old, key, gone)}


def _side(sheet: SourceTree) -> Side | None:
    """Split a plan into things without checking it; None if it breaks the schema."""
    from trappoint.checking.report import Report
    from trappoint.comparing.model import Side
    from trappoint.comparing.things import things_of
    from trappoint.model.building import build_layout
    from trappoint.schema.validation import layout_acceptor
    from trappoint.source.reading import Document, read_document

    document = read_document(sheet.text, sheet.name)
    if not isinstance(document, Document) or not layout_acceptor()(document.data):
        return None
    layout = build_layout(document.data)
    report = Report(sheet.name, None, (), layout=layout)
    return Side(sheet.name, report, things_of(layout, document.data))


def _stayed(old: Side, new: Side, key: Key, names: Names) -> bool:
    """Return whether a thing has the same place, in the new names."""
    kind = key[0]
    things, now = old.things or {}, new.things or {}
    one, other = things[key], now[names.found[key]]
    if kind in ELEMENTS:
        met = {(names.found.get(track), *rest) for track, *rest in _met(things, key)}
        return bool(met) and met == {(track, *rest) for track, *rest in _met(now, (kind, other.id))}
    return all(
        _content(names.field_now(one.fields[field])) == _content(other.fields[field])
        for field in PLACES[kind]
        if field in one.fields and field in other.fields
    )


def _content(field: Field) -> Hashable:
    return field.entries if field.ordered else frozenset(field.entries)


def _met(things: Mapping[Key, Thing], key: Key) -> Iterator[tuple[Any, ...]]:
    """Yield the tracks that meet an element, each with its end and the leg."""
    for other, thing in things.items():
        if other[0] == "tracks":
            for end in ("up", "down"):
                for entry in thing.fields[end].entries:
                    if tuple(entry[:1]) == (key,):
                        yield other, end, entry[1:]


def _alone(old: Side, key: Key, gone: Collection[Key]) -> bool:
    """Return whether no other removed thing of the kind was in the same place."""
    things = old.things or {}
    if key[0] in ELEMENTS:
        return True  # a leg is met by one track end
    own = [_content(things[key].fields[f]) for f in PLACES[key[0]] if f in things[key].fields]
    return not any(
        other != key
        and other[0] == key[0]
        and own
        == [_content(things[other].fields[f]) for f in PLACES[key[0]] if f in things[other].fields]
        for other in gone
        if other in things
    )


def renamed_sheet(sheet: SourceTree, names: Mapping[Key, str]) -> SourceTree:
    """Return a version with new ids, in every place that names the things."""
    if not names:
        return sheet
    gaps = frozenset(
        (path[0], names.get((path[0], path[1]), path[1])) if len(path) == 2 else path
        for path in sheet.gaps
    )
    return SourceTree(sheet.name, sheet.text, renamed(sheet.tree, names), gaps)
