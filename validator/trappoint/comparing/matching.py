"""Match the things of two plans, even if their ids changed.

A thing is recognised by its place: by its neighbours and its fields. Its id is the next best sign.
So points that were renumbered are matched, even if each number now belongs to other points; and a
signal that was moved is matched by its id. The surest pairs are made first:

1. Things with the same id whose surroundings did not change.
2. Things with the same surroundings, compared in widening rings, as in the colour refinement of
   graphs (Weisfeiler and Leman 1968). The widest rings in which a pair is unique decide. Among
   things that look alike, the same id decides.
3. Things with the same kind and id, changed in any way.
4. Things at the same place with different fields; or things that meet the same leg or end of a
   matched thing and differ little.
5. Things that look alike in every way, in the order of the plan.

The result is the same whichever plan is the old one.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from trappoint.comparing.terms import MISSING, Key, Ref
from trappoint.core.kinds import LINES

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Mapping

    from trappoint.comparing.terms import Atom, Field, Thing, Things

RINGS = 24
"""The maximum number of rings to compare: more than most plans are long."""

STEADY_RINGS = 2
"""The number of unchanged rings around a thing for which its id alone is enough."""

MAX_DIFFERENCES = 2
"""The maximum number of different fields of two things that meet the same leg or end."""

SURE_RINGS = 3
"""The number of equal rings that is enough alone; with fewer, a neighbour must be matched."""

BESIDE: Mapping[str, tuple[str, ...]] = {
    "tracks": ("points", "crossings", "turntables", "joints", "edges"),
    "points": ("tracks",),
    "crossings": ("tracks",),
    "turntables": ("tracks",),
    "joints": ("tracks",),
    "edges": ("tracks",),
    "platforms": ("tracks",),
    "signals": ("tracks",),
    "arms": ("signals",),
}
"""The kinds that give a thing its place. For other kinds, all references count."""

SPOT: Mapping[str, tuple[str, ...]] = {
    "tracks": ("up", "down"),
    "signals": ("track", "for", "at_mm"),
    "platforms": ("tracks",),
    "levers": ("points", "arms"),
    "scenes": ("points", "off", "trains"),
    "sessions": ("trains", "moves"),
}
"""The fields that give a thing its place, for things whose other fields differ.

Arms are recognised by their routes: see ``trappoint.comparing.arms``.
"""

LEGGED = ("points", "crossings", "turntables", "joints", "edges")
"""Kinds whose place is that of the tracks that meet them."""

LAID = ("tracks", *LEGGED)
"""Tracks, and the kinds that tracks meet."""

Link = tuple[int, Key]
"""A link to another thing: the number of the kind of link (negative if the other thing has the
reference), and the other thing's key."""

Content = tuple[str, tuple[tuple[str, tuple[object, ...]], ...]]
"""The kind of a thing, and its fields with kinds in place of ids."""


def match(old: Things, new: Things) -> dict[Key, Key]:
    """Return the key in ``new`` of each thing of ``old``. Removed things are left out."""
    labels: dict[str, int] = {}
    matching = _Matching(_Side(old, labels), _Side(new, labels))
    matching.run()
    return matching.found


class _Side:
    """One plan as a graph: the content of each thing, and its links in both directions."""

    def __init__(self, things: Things, labels: dict[str, int]) -> None:
        """``labels`` numbers the kinds of links, the same for both plans."""
        self.things = things
        self.content: dict[Key, Content] = {
            key: _content_of(thing) for key, thing in things.items()
        }
        self.links: dict[Key, list[Link]] = {key: [] for key in things}
        for key, thing in things.items():
            for name, field in thing.fields.items():
                for label, ref in _refs(name, field):
                    target = ref.kind, ref.id
                    if target in things:
                        number = labels.setdefault(label, len(labels) + 1)
                        self.links[key].append((number, target))
                        self.links[target].append((-number, key))
        # A thing that cannot be understood is recognised by its id alone.
        self.open = {key for key, thing in things.items() if thing.fields or key[0] in LINES}

    def differing(self, key: Key, other: _Side, other_key: Key) -> int:
        """Return the number of fields in which two things of one kind differ, without ids."""
        one, theirs = dict(self.content[key][1]), dict(other.content[other_key][1])
        return sum(one.get(name) != theirs.get(name) for name in one.keys() | theirs.keys())


def _content_of(thing: Thing) -> Content:
    fields = []
    for name, field in thing.fields.items():
        entries = [tuple(_without_id(atom) for atom in entry) for entry in field.entries]
        fields.append((name, tuple(entries if field.ordered else sorted(entries, key=repr))))
    return thing.kind, tuple(fields)


def _without_id(atom: Atom) -> Atom:
    return f"<{atom.kind}>" if isinstance(atom, Ref) and atom.kind != MISSING else atom


def _refs(name: str, field: Field) -> Iterable[tuple[str, Ref]]:
    """Yield the references of a field, each with a label for its position."""
    for number, entry in enumerate(field.entries):
        for place, atom in enumerate(entry):
            if isinstance(atom, Ref):
                rest = [other for other in entry if not isinstance(other, Ref)]
                yield f"{name} {number if field.ordered else ''} {place} {rest}", atom


class _Matching:
    def __init__(self, old: _Side, new: _Side) -> None:
        self.old = old
        self.new = new
        self.found: dict[Key, Key] = {}
        self.known: tuple[dict[Key, int], dict[Key, int]] = {}, {}
        """The number of the pair of each matched thing, in the old plan and in the new."""

    def run(self) -> None:
        """Make all pairs, the surest first."""
        for key in self.old.things:
            if key in self.new.things and not (key in self.old.open and key in self.new.open):
                self._pair(key, key)
        self._unchanged()
        while self._open():
            ways = (self._by_surroundings, self._by_id, self._by_spot, self._by_leg, self._by_order)
            if not any(way() for way in ways):
                break

    def _open(self) -> bool:
        return bool(self.old.open and self.new.open)

    def _pair(self, one: Key, other: Key) -> None:
        number = len(self.found)
        self.found[one] = other
        self.known[0][one] = self.known[1][other] = number
        self.old.open.discard(one)
        self.new.open.discard(other)

    def _unchanged(self) -> None:
        """Pair the things that did not change and whose surroundings did not change.

        The same id and the same ids of neighbours are not enough: after a renumbering, some may be
        equal by chance.
        """
        same = {
            key
            for key in self.old.things
            if key in self.old.open
            and key in self.new.open
            and self.old.content[key] == self.new.content[key]
            and Counter(self.old.links[key]) == Counter(self.new.links[key])
        }
        for _ in range(STEADY_RINGS):
            same = {key for key in same if all(near in same for _, near in self.old.links[key])}
        for key in self.old.things:
            if key in same:
                self._pair(key, key)

    # --- by surroundings

    def _by_surroundings(self) -> bool:
        """Pair the things that are unique in the widest rings. Return False if none are."""
        rings = self._rings()
        last = len(rings) - 1
        for width in range(last, 0, -1):
            sure = width == last or width >= SURE_RINGS
            pairs = self._unique(rings[width], sure=sure)
            if pairs:
                for one, other in pairs:
                    self._pair(one, other)
                return True
        for width in range(last, 0, -1):
            # Pair only one of the things that look alike: others may then be unique.
            alike = [
                key for ours, theirs in rings[width].classes() for key in ours if key in theirs
            ]
            if alike:
                self._pair(alike[0], alike[0])
                return True
        return False

    def _unique(self, ring: _Colours, *, sure: bool) -> list[tuple[Key, Key]]:
        return [
            (ours[0], theirs[0])
            for ours, theirs in ring.classes()
            if len(ours) == len(theirs) == 1
            and (ours == theirs or sure or self._beside_known(ours[0], theirs[0]))
        ]

    def _beside_known(self, one: Key, other: Key) -> bool:
        """Return whether a neighbour that gives the place is already matched."""
        beside = BESIDE.get(one[0])
        near = [
            {
                (label, known[target])
                for label, target in side.links[key]
                if target in known and (beside is None or target[0] in beside)
            }
            for side, key, known in (
                (self.old, one, self.known[0]),
                (self.new, other, self.known[1]),
            )
        ]
        return not near[0].isdisjoint(near[1])

    def _rings(self) -> list[_Colours]:
        """Colour all open things by their content, then by ever wider surroundings."""
        colours = _Colours(self.old, self.new)
        rings = [colours]
        while len(rings) < RINGS:
            wider = colours.wider(self.known)
            rings.append(wider)
            if wider.count == colours.count:
                break
            colours = wider
        return rings

    # --- the things that are left

    def _by_id(self) -> bool:
        """Pair the things with the same id: first tracks and elements, then the others.

        Once the track is matched, a signal may be recognised by its place.
        """
        same = [key for key in self.old.things if key in self.old.open and key in self.new.open]
        laid = [key for key in same if key[0] in LAID]
        others = [key for key in same if key[0] != "arms"]
        for key in laid or others or same:
            self._pair(key, key)
        return bool(same)

    def _by_spot(self) -> bool:
        """Pair the things that are alone at the same place, with different fields."""
        spots: dict[Hashable, tuple[list[Key], list[Key]]] = {}
        for number, side in enumerate((self.old, self.new)):
            for key in side.things:
                if key in side.open:
                    spot = self._spot(number, key)
                    if spot is not None:
                        spots.setdefault(spot, ([], []))[number].append(key)
        pairs = [(a[0], b[0]) for a, b in spots.values() if len(a) == len(b) == 1]
        for one, other in pairs:
            self._pair(one, other)
        return bool(pairs)

    def _spot(self, number: int, key: Key) -> Hashable | None:
        """Return the place of a thing, in terms of matched things; None if it is unknown."""
        side, known = (self.old, self.new)[number], self.known[number]
        if key[0] in LEGGED:
            met = [
                (label, known.get(track, -1))
                for label, track in side.links[key]
                if track[0] == "tracks"
            ]
            return (key[0], frozenset(met)) if met and all(pair >= 0 for _, pair in met) else None
        spot: list[Hashable] = [key[0]]
        named = 0
        for name in SPOT.get(key[0], ()):
            field = side.things[key].fields[name]
            entries = []
            for entry in field.entries:
                placed = tuple(_placed(atom, known) for atom in entry)
                if None in placed:
                    return None
                named += any(isinstance(atom, Ref) for atom in entry)
                entries.append(placed)
            spot.append(tuple(entries if field.ordered else sorted(entries, key=repr)))
        return tuple(spot) if named else None

    def _by_leg(self) -> bool:
        """Pair the things that alone meet the same leg or end of a matched thing."""
        pairs: dict[tuple[Key, Key], None] = {}
        for one, other in self.found.items():
            if one[0] in LAID:
                ours, theirs = self._met(self.old, one), self._met(self.new, other)
                for label in ours.keys() & theirs.keys():
                    pairs[ours[label], theirs[label]] = None
        pairs = {pair: None for pair in pairs if self._much_alike(*pair)}
        ours_often = Counter(one for one, _ in pairs)
        theirs_often = Counter(other for _, other in pairs)
        sole = [p for p in pairs if ours_often[p[0]] == theirs_often[p[1]] == 1]
        for one, other in sole:
            self._pair(one, other)
        return bool(sole)

    def _met(self, side: _Side, key: Key) -> dict[int, Key]:
        """Return the unmatched tracks and elements that meet a thing, by the leg or end."""
        met: dict[int, list[Key]] = {}
        for label, target in side.links[key]:
            if target in side.open and target[0] in LAID:
                met.setdefault(label, []).append(target)
        return {label: found[0] for label, found in met.items() if len(found) == 1}

    def _much_alike(self, one: Key, other: Key) -> bool:
        if one[0] != other[0]:
            return False
        return self.old.differing(one, self.new, other) <= MAX_DIFFERENCES

    def _by_order(self) -> bool:
        """Pair one of the things that look alike in every way; the rest may then be unique."""
        ring = self._rings()[-1]
        alike = [
            (ours, theirs)
            for ours, theirs in ring.classes()
            if ours and len(ours) == len(theirs) and ours[0][0] not in ("accept", "joins")
        ]
        if not alike:
            return False
        ours, theirs = min(alike, key=lambda c: (len(c[0]), sorted((c[0][0], c[1][0]))))
        self._pair(ours[0], theirs[0])
        return True


def _placed(atom: Atom, known: Mapping[Key, int]) -> tuple[str, object] | None:
    """Return a part of a field in terms of matched things; None if it is not matched."""
    if not isinstance(atom, Ref):
        return "value", atom
    number = known.get((atom.kind, atom.id))
    return None if number is None else ("pair", number)


class _Colours:
    """A colour for each open thing of both plans: two of one colour look alike."""

    def __init__(self, old: _Side, new: _Side) -> None:
        self.sides = (old, new)
        numbers: dict[Hashable, int] = {}
        self.of: tuple[dict[Key, int], ...] = tuple(
            {key: numbers.setdefault(side.content[key], len(numbers)) for key in _in_order(side)}
            for side in self.sides
        )
        self.count = len(numbers)

    def wider(self, known: tuple[dict[Key, int], ...]) -> _Colours:
        """Return new colours, made from the colours of each thing and its neighbours."""
        result = object.__new__(_Colours)
        result.sides = self.sides
        numbers: dict[Hashable, int] = {}
        found = []
        for side, colours, pairs in zip(self.sides, self.of, known, strict=True):
            own = {}
            for key, colour in colours.items():
                # A thing of only one plan that cannot be understood has no colour.
                near = sorted(
                    (label, -1 - pairs[to] if to in pairs else colours.get(to, self.count))
                    for label, to in side.links[key]
                )
                own[key] = numbers.setdefault((colour, tuple(near)), len(numbers))
            found.append(own)
        result.of = tuple(found)
        result.count = len(numbers)
        return result

    def classes(self) -> list[tuple[list[Key], list[Key]]]:
        """Return the things of each colour: those of the old plan, those of the new."""

        found: dict[int, tuple[list[Key], list[Key]]] = {}
        for number, colours in enumerate(self.of):
            for key, colour in colours.items():
                found.setdefault(colour, ([], []))[number].append(key)
        return list(found.values())


def _in_order(side: _Side) -> list[Key]:
    return [key for key in side.things if key in side.open]
