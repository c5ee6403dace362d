"""A plan taken apart into things, each with its fields, so that two plans can be held together.

Defaults are filled in and what is only written differently is made the same: what is left is what
the plan says of the railway. Notes are left out. Where a field names another thing, it holds a
``Ref``, so that a new id of that thing is not taken for a change of everything that names it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.layout import lie_of, lie_word

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from trappoint.layout import Accepted, Arm, Heading, Layout, Signal, Track

Key = tuple[str, str]
"""A kind and an id. The kind is the plan's key (``tracks``), or one of those below."""

LINES = ("joints", "edges")
"""Kinds of names in the ends of tracks."""

ELEMENTS = ("points", "crossings", "turntables")
"""What the ends of tracks meet with legs, in the order in which an id is looked up."""

MISSING = "missing"
"""The kind of a reference that leads nowhere."""


class Ref(NamedTuple):
    """The name of another thing."""

    kind: str
    id: str


Atom = str | float | bool | None | Ref
Entry = tuple[Atom, ...]


class Field(NamedTuple):
    """What a thing says under one heading: entries, whose order may mean something."""

    entries: tuple[Entry, ...]
    ordered: bool = True


class Thing(NamedTuple):
    """One thing of a plan. Fields whose names begin with ``_`` only help to recognise it."""

    kind: str
    id: str
    fields: Mapping[str, Field]


Things = dict[Key, Thing]


def things_of(layout: Layout, data: Mapping[str, Any]) -> Things:
    """Take a plan apart. ``data`` is the document it was built from, for what ``layout`` omits."""
    return _Parts(layout, data).all()


def one(*atoms: Atom) -> Field:
    """Return a field of one entry; of none where it is one atom that says nothing."""
    return Field((atoms,) if atoms not in ((None,), ("",)) else ())


def any_order(entries: Iterable[Entry]) -> Field:
    """Return a field whose entries stand in no order."""
    return Field(tuple(entries), ordered=False)


class _Parts:
    def __init__(self, layout: Layout, data: Mapping[str, Any]) -> None:
        self.layout = layout
        self.data = data
        self.arm_ids = {arm.id for arm in layout.arms()}
        self.known: dict[str, Any] = {
            "tracks": layout.tracks,
            "points": layout.points,
            "crossings": layout.crossings,
            "turntables": layout.turntables,
            "platforms": layout.platforms,
            "signals": layout.signals,
            "yards": layout.yards,
            "trains": layout.trains,
            "scenes": layout.scenes,
            "boards": layout.boards,
            "arms": self.arm_ids,
        }

    def all(self) -> Things:
        """Return all things, in the order in which they are told."""
        found: Things = {}
        for thing in self._each():
            key, again = (thing.kind, thing.id), 1
            while thing.kind == "arms" and key in found:  # an error of the plan, but it may be met
                again += 1
                key = thing.kind, f"{thing.id} ({again})"
            found[key] = thing._replace(id=key[1])
        return found

    def _each(self) -> Iterator[Thing]:
        layout = self.layout
        yield Thing("plan", "", {"title": one(layout.title), "scale": one(layout.scale)})
        for track in layout.tracks.values():
            yield self._track(track)
        for kind, name in self._lines():
            yield Thing(kind, name, {})
        yield from self._elements()
        yield from self._places()
        for signal in layout.signals.values():
            yield self._signal(signal)
            for arm in signal.arms:
                yield self._arm(signal, arm)
        yield from self._use()

    def ref(self, name: str, *kinds: str) -> Ref:
        """Return what a name stands for: the first of these kinds that has it."""
        return Ref(next((kind for kind in kinds if name in self.known[kind]), MISSING), name)

    def _called(self, kind: str, name: str) -> Field:
        return one(self.data.get(kind, {}).get(name, {}).get("name", ""))

    # --- track

    def _track(self, track: Track) -> Thing:
        fields = {
            "up": self._end(track, "up"),
            "down": self._end(track, "down"),
            "running": one(track.running),
            "stand": one(track.stand),
            "length_mm": one(track.length_mm),
            "radius_mm": one(track.radius_mm),
            "gradient_percent": one(track.gradient_percent),
            "rank": one(track.rank),
            "name": one(track.name),
        }
        return Thing("tracks", track.id, fields)

    def _end(self, track: Track, towards: Heading) -> Field:
        end = track.end(towards)
        if end.kind == "buffer":
            return one("buffer")
        if end.kind in ("joint", "edge"):
            return one(Ref(f"{end.kind}s", end.name))
        element = self.layout.element(end)
        kind = element[0] if element else self.ref(end.name, *ELEMENTS).kind
        return one(Ref(kind, end.name), end.leg)

    def _lines(self) -> Iterator[Key]:
        for track in self.layout.tracks.values():
            for end in (track.up, track.down):
                if end.kind in ("joint", "edge"):
                    yield f"{end.kind}s", end.name

    def _elements(self) -> Iterator[Thing]:
        layout = self.layout
        for points in layout.points.values():
            fields = {
                "kind": one(points.kind),
                "normal": one(points.normal),
                "trap": one(points.trap),
                "lock": one(points.lock),
                "crossing_number": one(points.crossing_number),
                "measure": one(None if points.crossing_number is None else points.measure),
                "angle_degrees": one(points.angle_degrees),
                "name": self._called("points", points.id),
            }
            yield Thing("points", points.id, fields)
        for crossing in layout.crossings.values():
            fields = {"kind": one(crossing.kind), "name": self._called("crossings", crossing.id)}
            yield Thing("crossings", crossing.id, fields)
        for table in layout.turntables.values():
            fields = {
                "kind": one(table.kind),
                "roads": any_order((road,) for road in table.roads),
                "name": self._called("turntables", table.id),
            }
            yield Thing("turntables", table.id, fields)
        for group in self._together():
            members = any_order((self._switch(member),) for member in group)
            yield Thing("worked_together", "+".join(group), {"members": members})

    def _switch(self, name: str) -> Ref:
        return self.ref(name, "points", "crossings")

    def _together(self) -> list[list[str]]:
        """Return the lists of what is worked together, those that share a member as one."""
        groups: list[set[str]] = []
        for listed in self.layout.worked_together:
            merged = set(listed)
            apart = [group for group in groups if group.isdisjoint(merged)]
            merged.update(*(group for group in groups if not group.isdisjoint(merged)))
            groups = [*apart, merged]
        return [sorted(group) for group in groups]

    def _places(self) -> Iterator[Thing]:
        for platform in self.layout.platforms.values():
            fields = {
                "tracks": any_order((self.ref(track, "tracks"),) for track in platform.tracks),
                "length_mm": one(platform.length_mm),
                "name": one(platform.name),
            }
            yield Thing("platforms", platform.id, fields)
        for yard in self.layout.yards.values():
            members = {
                "tracks": yard.tracks,
                "points": yard.points,
                "crossings": yard.crossings,
                "turntables": yard.turntables,
            }
            fields = {
                kind: any_order((self.ref(name, kind),) for name in names)
                for kind, names in members.items()
            }
            yield Thing("yards", yard.id, {**fields, "name": one(yard.name)})

    # --- signals

    def _at(self, track: str, heading: Heading, at_mm: float | None) -> float | None:
        """Return where a signal stands; None right at the end that its trains run to."""
        known = self.layout.tracks.get(track)
        if at_mm is None or (heading == "up" and at_mm == 0):
            return None
        length = known.length_mm if known is not None else None
        return None if heading == "down" and at_mm == length else at_mm

    def _spot(self, track: str, heading: Heading, at_mm: float | None) -> dict[str, Field]:
        return {
            "track": one(self.ref(track, "tracks")),
            "for": one(heading),
            "at_mm": one(self._at(track, heading, at_mm)),
        }

    def _signal(self, signal: Signal) -> Thing:
        fields = {
            **self._spot(signal.track, signal.heading, signal.at_mm),
            "side": one(signal.side),
            "mount": one(signal.mount),
            "form": one(signal.form),
            "duties": any_order(map(self._duty, signal.duties)),
            "name": self._called("signals", signal.id),
        }
        return Thing("signals", signal.id, fields)

    def _duty(self, duty: str) -> Entry:
        words, _, name = duty.rpartition(" ")
        return words, duty_ref(self, words, name)

    def _arm(self, signal: Signal, arm: Arm) -> Thing:
        own = self._spot(arm.track, arm.heading, arm.at_mm)
        if own == self._spot(signal.track, signal.heading, signal.at_mm):
            own = {name: one(None) for name in own}
        expects = ((self._switch(name), self._lie(name, lie)) for name, lie in arm.expects.items())
        given = self._given(signal, arm)
        fields = {
            "signal": one(Ref("signals", signal.id)),
            "_position": one(arm.index),
            "kind": one(arm.kind),
            **own,
            "to": any_order((self.ref(name, "tracks", "platforms", "yards"),) for name in arm.to),
            "doll": one(arm.doll),
            "under": one(None if arm.under is None else self.ref(arm.under, "arms")),
            "repeats": any_order((self.ref(name, "arms"),) for name in arm.repeats),
            "expects": any_order(expects),
            "never_with": any_order((self.ref(name, "arms"),) for name in arm.never_with),
            "height_mm": one(arm.height_mm),
            "name": one(given.get("name", "")),
        }
        return Thing("arms", arm.id, fields)

    def _given(self, signal: Signal, arm: Arm) -> Mapping[str, Any]:
        found: Mapping[str, Any] = self.data["signals"][signal.id]["arms"][arm.index]
        return found

    def _lie(self, name: str, word: str) -> str:
        """Return a lie as ``normal`` or ``reverse`` where it is one: both may be written."""
        switch = self.layout.switch(name)
        lie = lie_of(switch, word) if switch is not None else None
        return word if switch is None or lie is None else lie_word(switch, lie)

    # --- how it is worked

    def _use(self) -> Iterator[Thing]:
        layout = self.layout
        for lever in layout.levers.values():
            fields = {
                "points": any_order((self._switch(name),) for name in lever.points),
                "arms": any_order((self.ref(name, "arms"),) for name in lever.arms),
                "name": self._called("levers", lever.number),
            }
            yield Thing("levers", lever.number, fields)
        for train in layout.trains.values():
            given = self.data["trains"][train.id]
            sizes = ("length_mm", "longest_coach_mm", "engine_mm")
            fields = {size: one(given.get(size)) for size in sizes}
            yield Thing("trains", train.id, {**fields, "name": one(train.name)})
        yield from self._scenes()
        for number, entry in enumerate(layout.accept):
            fields = {
                "rule": one(entry.rule),
                "at": one(*self._place(entry)),
                "because": one(entry.because),
            }
            doubled = any(entry[:2] == other[:2] for other in layout.accept[:number])
            mark = f" #{number}" if doubled else ""
            yield Thing("accept", f"{entry.rule} at {entry.at}{mark}", fields)
        for name in layout.boards:
            fields = {key: one(v) for key, v in self.data["boards"][name].items() if key != "note"}
            yield Thing("boards", name, fields)
        for join in self.data.get("joins", ()):
            sides = sorted((join["a"], join["b"]))
            fields = {"ends": any_order(map(self._board_edge, sides))}
            yield Thing("joins", " + ".join(sides), fields)

    def _board_edge(self, text: str) -> Entry:
        board, _, edge = text.partition(":")
        return self.ref(board, "boards"), edge

    def _scenes(self) -> Iterator[Thing]:
        for scene in self.layout.scenes.values():
            lies = [
                (self._switch(name), self._lie(name, lie)) for name, lie in scene.points.items()
            ]
            trains = (
                (
                    self.ref(place, "tracks", "yards"),
                    self.ref(train, "trains") if isinstance(train, str) else None,
                )
                for place, train in scene.trains.items()
            )
            fields = {
                # Points that are said to lie normal lie as if nothing had been said.
                "points": any_order(entry for entry in lies if entry[1] != "normal"),
                "off": any_order((self.ref(name, "arms"),) for name in scene.off),
                "trains": any_order(trains),
                "name": self._called("scenes", scene.id),
            }
            yield Thing("scenes", scene.id, fields)

    def _place(self, entry: Accepted) -> Entry:
        return pointer_parts(self.layout, self.known, entry.at)


def duty_ref(parts: _Parts, words: str, name: str) -> Ref:
    """Return what the last word of a duty names, by the word before it."""
    kinds: Mapping[str, tuple[str, ...]] = {
        "platform": ("platforms",),
        "holds": ("tracks", "yards"),
    }
    last = words.rpartition(" ")[2]
    return parts.ref(name, *kinds.get(last, ELEMENTS))


ANYWHERE = (
    "tracks",
    "points",
    "crossings",
    "turntables",
    "platforms",
    "signals",
    "yards",
    "trains",
    "scenes",
)
"""The kinds of things that a bare id may stand for."""


def pointer_parts(layout: Layout, known: Mapping[str, Any], at: str) -> Entry:
    """Take a JSON pointer, or a bare id, apart into the thing that it names and the way below it.

    An arm is named by its number in the list: it becomes the arm itself.
    """
    parts = at.split("/")
    if len(parts) < 3:
        kind = next((kind for kind in ANYWHERE if at in known[kind]), "")
        return ("", Ref(kind, at)) if kind else (at,)
    kind, name = parts[1], parts[2]
    below = parts[3:]
    if kind == "signals" and name in layout.signals and below[:1] == ["arms"] and below[1:]:
        arms = layout.signals[name].arms
        if below[1].isdigit() and int(below[1]) < len(arms):
            arm = Ref("arms", arms[int(below[1])].id)
            return "/", arm, *_below("arms", below[2:], known)
    if kind in known and name in known[kind]:
        return "/", Ref(kind, name), *_below(kind, below, known)
    return tuple(parts)


_NAMES_BELOW: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("scenes", "points"): ("points", "crossings"),
    ("scenes", "trains"): ("tracks", "yards"),
    ("arms", "expects"): ("points", "crossings"),
}
"""From a kind and a key of such a thing to the kinds of things that the keys below it name."""


def _below(kind: str, below: list[str], known: Mapping[str, Any]) -> Iterator[Atom]:
    """Yield what stands below a thing, with what names another thing as such."""
    for number, part in enumerate(below):
        kinds = _NAMES_BELOW.get((kind, below[0]), ()) if number == 1 else ()
        found = next((each for each in kinds if part in known[each]), None)
        yield part if found is None else Ref(found, part)
