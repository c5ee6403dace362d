"""Which thing of one plan is which of the other, also where its id has changed.

A thing is known by its place: by what it meets and what is said of it. Its id is the next best
sign of it. So points that were renumbered are found again, even where every number went to other
points; and a signal that was moved is found by its id.

1. Where nothing has changed all round, things with the same id are the same.
2. For the others the surroundings are looked at, in widening rings, as in the refinement of
   colours by which graphs are compared (Weisfeiler and Leman 1968). The widest rings that tell two
   things apart from all others decide; among things that look alike, the same id does.
3. Then things with the same id and of the same kind, whatever became of them.
4. Then, among what is left, what stands at the same place and differs otherwise; or what meets the
   same leg or end of something known, and differs little.
5. Where things cannot be told apart at all, they are taken in the order of the plan.

Nothing here depends on which plan is the old one.
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
"""How wide the surroundings are looked at: farther than most plans are long."""

STEADY_RINGS = 2
"""So far around it nothing may have changed, for a thing to be the same by its id alone."""

MAX_DIFFERENCES = 2
"""In so many fields two things may differ, if the one stands where the other stood."""

SURE_RINGS = 3
"""So many rings alike are no accident; with fewer, something known must stand beside it."""

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
"""What says where a thing is. Other kinds are known by all that they name."""

SPOT: Mapping[str, tuple[str, ...]] = {
    "tracks": ("up", "down"),
    "signals": ("track", "for", "at_mm"),
    "platforms": ("tracks",),
    "levers": ("points", "arms"),
    "scenes": ("points", "off", "trains"),
    "sessions": ("trains", "moves"),
}
"""The fields that say where a thing is, for those that differ otherwise.

Arms are known by the routes that they speak for: see ``trappoint.comparing.arms``.
"""

LEGGED = ("points", "crossings", "turntables", "joints", "edges")
"""What is where the tracks are that meet it."""

LAID = ("tracks", *LEGGED)
"""What is laid, one to the next."""

Link = tuple[int, Key]
"""How a thing is linked with another, by the number of the way (less than 0 where it is the other
one that names it), and which."""

Said = tuple[str, tuple[tuple[str, tuple[object, ...]], ...]]
"""The kind of a thing, and its fields with kinds in place of ids."""


def match(old: Things, new: Things) -> dict[Key, Key]:
    """Return which thing of ``new`` each thing of ``old`` is. Those that are gone are left out."""
    labels: dict[str, int] = {}
    matching = _Matching(_Side(old, labels), _Side(new, labels))
    matching.run()
    return matching.found


class _Side:
    """One plan as a graph: what is said of each thing itself, and its links in both directions."""

    def __init__(self, things: Things, labels: dict[str, int]) -> None:
        """``labels`` numbers the ways in which things are linked, for both plans alike."""
        self.things = things
        self.said: dict[Key, Said] = {key: _said_of(thing) for key, thing in things.items()}
        self.links: dict[Key, list[Link]] = {key: [] for key in things}
        for key, thing in things.items():
            for name, field in thing.fields.items():
                for label, ref in _refs(name, field):
                    target = ref.kind, ref.id
                    if target in things:
                        number = labels.setdefault(label, len(labels) + 1)
                        self.links[key].append((number, target))
                        self.links[target].append((-number, key))
        # What could not be understood is known by its id alone.
        self.open = {key for key, thing in things.items() if thing.fields or key[0] in LINES}

    def differing(self, key: Key, other: _Side, other_key: Key) -> int:
        """Return in how many fields two things of one kind differ, ids left aside."""
        one, theirs = dict(self.said[key][1]), dict(other.said[other_key][1])
        return sum(one.get(name) != theirs.get(name) for name in one.keys() | theirs.keys())


def _said_of(thing: Thing) -> Said:
    fields = []
    for name, field in thing.fields.items():
        entries = [tuple(_without_id(atom) for atom in entry) for entry in field.entries]
        fields.append((name, tuple(entries if field.ordered else sorted(entries, key=repr))))
    return thing.kind, tuple(fields)


def _without_id(atom: Atom) -> Atom:
    return f"<{atom.kind}>" if isinstance(atom, Ref) and atom.kind != MISSING else atom


def _refs(name: str, field: Field) -> Iterable[tuple[str, Ref]]:
    """Yield the references of a field, each with where it stands in it."""
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
        """From each thing that was found to the number of its pair."""

    def run(self) -> None:
        """Find all pairs, the surest first."""
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
        """Pair what has stayed as it was, together with all that stands around it.

        That two things have the same id and neighbours of the same ids is not enough: where ids
        were dealt out anew, some of them come together by chance.
        """
        same = {
            key
            for key in self.old.things
            if key in self.old.open
            and key in self.new.open
            and self.old.said[key] == self.new.said[key]
            and Counter(self.old.links[key]) == Counter(self.new.links[key])
        }
        for _ in range(STEADY_RINGS):
            same = {key for key in same if all(near in same for _, near in self.old.links[key])}
        for key in self.old.things:
            if key in same:
                self._pair(key, key)

    # --- by what stands around it

    def _by_surroundings(self) -> bool:
        """Pair what the widest rings tell apart. False if they tell nothing any more."""
        rings = self._rings()
        last = len(rings) - 1
        for width in range(last, 0, -1):
            sure = width == last or width >= SURE_RINGS
            pairs = self._told_apart(rings[width], sure=sure)
            if pairs:
                for one, other in pairs:
                    self._pair(one, other)
                return True
        for width in range(last, 0, -1):
            # Of things that look alike one only: by that, others may then be told apart.
            alike = [
                key for ours, theirs in rings[width].classes() for key in ours if key in theirs
            ]
            if alike:
                self._pair(alike[0], alike[0])
                return True
        return False

    def _told_apart(self, ring: _Colours, *, sure: bool) -> list[tuple[Key, Key]]:
        return [
            (ours[0], theirs[0])
            for ours, theirs in ring.classes()
            if len(ours) == len(theirs) == 1
            and (ours == theirs or sure or self._beside_known(ours[0], theirs[0]))
        ]

    def _beside_known(self, one: Key, other: Key) -> bool:
        """Return whether something that says where a thing is was found already."""
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
        """Colour all open things by themselves, then by ever wider surroundings."""
        colours = _Colours(self.old, self.new)
        rings = [colours]
        while len(rings) < RINGS:
            wider = colours.wider(self.known)
            rings.append(wider)
            if wider.count == colours.count:
                break
            colours = wider
        return rings

    # --- by what is left

    def _by_id(self) -> bool:
        """Pair what has the same id: first the track, then what stands beside it.

        Once the track is known, a signal may be known by its place.
        """
        same = [key for key in self.old.things if key in self.old.open and key in self.new.open]
        laid = [key for key in same if key[0] in LAID]
        others = [key for key in same if key[0] != "arms"]
        for key in laid or others or same:
            self._pair(key, key)
        return bool(same)

    def _by_spot(self) -> bool:
        """Pair what alone stands at the same place, and is otherwise not the same."""
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
        """Return where a thing is, in terms of what was found; None if that is not known."""
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
        """Pair what alone meets the same leg, or the same end, of something that was found."""
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
        """Return what is laid next to a thing and not yet found, by where it meets it."""
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
        """Pair one of those that look alike all round; the rest may then be told apart."""
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
    """Put one part of a field into terms of what was found; None for what was not."""
    if not isinstance(atom, Ref):
        return "said", atom
    number = known.get((atom.kind, atom.id))
    return None if number is None else ("pair", number)


class _Colours:
    """A colour for each open thing of both plans: two of one colour look alike."""

    def __init__(self, old: _Side, new: _Side) -> None:
        self.sides = (old, new)
        numbers: dict[Hashable, int] = {}
        self.of: tuple[dict[Key, int], ...] = tuple(
            {key: numbers.setdefault(side.said[key], len(numbers)) for key in _in_order(side)}
            for side in self.sides
        )
        self.count = len(numbers)

    def wider(self, known: tuple[dict[Key, int], ...]) -> _Colours:
        """Return the colours that take in the colours of all neighbours."""
        result = object.__new__(_Colours)
        result.sides = self.sides
        numbers: dict[Hashable, int] = {}
        found = []
        for side, colours, pairs in zip(self.sides, self.of, known, strict=True):
            own = {}
            for key, colour in colours.items():
                # A thing in one plan alone that could not be understood has no colour of its own.
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
        """Return the things of each colour, of the old plan and of the new."""
        found: dict[int, tuple[list[Key], list[Key]]] = {}
        for number, colours in enumerate(self.of):
            for key, colour in colours.items():
                found.setdefault(colour, ([], []))[number].append(key)
        return list(found.values())


def _in_order(side: _Side) -> list[Key]:
    return [key for key in side.things if key in side.open]
