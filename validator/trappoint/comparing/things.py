"""Split a plan into things with fields, so that two plans can be compared.

Defaults are filled in, and values with the same meaning become equal. Notes are left out. A field
that names another thing has a ``Ref``, so a new id of that thing is not a change of every field
that names it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.comparing.pointers import pointer_parts
from trappoint.comparing.terms import MISSING, NOT_FIELDS, Field, Ref, Thing, any_order, one
from trappoint.core.kinds import ELEMENTS
from trappoint.model.layout import cut_at, lie_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from trappoint.comparing.terms import Atom, Entry, Key, Things
    from trappoint.model.layout import Accepted, Arm, Heading, Layout, SessionMove, Signal, Track


def things_of(
    layout: Layout, data: Mapping[str, Any], left_out: Collection[Key] = frozenset()
) -> Things:
    """Return the things of a plan. ``data`` is its document, for keys that ``layout`` omits.

    ``left_out`` are things that cannot be understood: they get no fields.
    """
    return _Parts(layout, data, left_out).all()


class _Parts:
    def __init__(self, layout: Layout, data: Mapping[str, Any], left_out: Collection[Key]) -> None:
        self.layout = layout
        self.data = data
        self.left_out = left_out
        self.given_arms: dict[str, Mapping[str, Any]] = {
            arm["id"]: arm for signal in data.get("signals", {}).values() for arm in signal["arms"]
        }
        self.known: dict[str, set[str]] = {
            "tracks": set(layout.tracks),
            "points": set(layout.points),
            "crossings": set(layout.crossings),
            "turntables": set(layout.turntables),
            "platforms": set(layout.platforms),
            "signals": set(layout.signals),
            "yards": set(layout.yards),
            "trains": set(layout.trains),
            "scenes": set(layout.scenes),
            "sessions": set(layout.sessions),
            "boards": set(layout.boards),
            "arms": {arm.id for arm in layout.arms()},
        }
        for kind, name in left_out:
            if kind in self.known:
                self.known[kind].add(name)
        self.cut = {
            head.track
            for head in layout.holding_heads()
            if head.track in layout.tracks and cut_at(head, layout.tracks[head.track]) >= 0
        }
        """The tracks that signals cut."""

    def all(self) -> Things:
        """Return all things, in the order of reports."""
        found: Things = {}
        for thing in self._each():
            key, again = (thing.kind, thing.id), 1
            while thing.kind == "arms" and key in found:  # two arms with one id: an error
                again += 1
                key = thing.kind, f"{thing.id} ({again})"
            found[key] = Thing(thing.kind, key[1], self._with_the_rest(thing))
        for kind, name in self.left_out:
            if kind in self.known:
                found[kind, name] = Thing(kind, name, {})
        return found

    def _with_the_rest(self, thing: Thing) -> dict[str, Field]:
        """Return the fields of a thing, and its other keys in the document."""
        given: Any = {}
        if thing.kind == "plan":
            given = {key: v for key, v in self.data.items() if not isinstance(v, dict | list)}
        elif thing.kind == "arms":
            given = self.given_arms.get(thing.id, {})
        elif isinstance(self.data.get(thing.kind), dict):
            given = self.data[thing.kind].get(thing.id, {})
        fields = dict(thing.fields)
        for key in sorted(given):
            if key not in fields and key not in NOT_FIELDS:
                value = given[key]
                plain = value is None or isinstance(value, str | int | float)
                fields[key] = one(value if plain else repr(value))
        return fields

    def _each(self) -> Iterator[Thing]:
        layout = self.layout
        yield Thing("plan", "", {"title": one(layout.title), "scale": one(layout.scale)})
        for track in layout.tracks.values():
            yield self._track(track)
        for kind, name in self._lines():
            yield Thing(kind, name, self._edge(name) if kind == "edges" else {})
        yield from self._elements()
        yield from self._places()
        for signal in layout.signals.values():
            yield self._signal(signal)
            for arm in signal.arms:
                yield self._arm(signal, arm)
        yield from self._use()

    def ref(self, name: str, *kinds: str) -> Ref:
        """Return a reference to the first of these kinds that has this id."""
        return Ref(next((kind for kind in kinds if name in self.known[kind]), MISSING), name)

    def _called(self, kind: str, name: str) -> Field:
        return one(self.data.get(kind, {}).get(name, {}).get("name", ""))

    def _hint(self, key: str, value: int | None) -> Field:
        return one(None if value is None else f"{key} {value}")

    # --- track

    def _track(self, track: Track) -> Thing:
        fields = {
            "up": self._end(track, "up"),
            "down": self._end(track, "down"),
            "running": one(track.running),
            "stand": one(track.stand),
            "_stand": self._stand(track),
            "length_mm": one(track.length_mm),
            "radius_mm": one(track.radius_mm),
            "curve": one(track.curve),
            "gradient_percent": one(track.gradient_percent),
            "rank": one(track.rank),
            "draw": self._hint("lane", track.lane),
            "name": one(track.name),
        }
        return Thing("tracks", track.id, fields)

    def _stand(self, track: Track) -> Field:
        """Return how much of a track with a signal in it is a stand; nothing for other tracks."""
        if not track.stand or track.id not in self.cut:
            return one(None)
        return one("on all of it" if track.stands_whole else "at its end alone")

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

    def _edge(self, name: str) -> dict[str, Field]:
        held = any(edge.held for edge in self.layout.edges if edge.name == name)
        return {"held": one(held), "name": self._called("edges", name)}

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
                "draw": self._hint("order", points.order),
                "name": self._called("points", points.id),
            }
            yield Thing("points", points.id, fields)
        for crossing in layout.crossings.values():
            given = self.data["crossings"][crossing.id]
            measure = given.get("measure", "centre-line") if "crossing_number" in given else None
            fields = {
                "kind": one(crossing.kind),
                "draw": self._hint("order", crossing.order),
                "measure": one(measure),
                "name": self._called("crossings", crossing.id),
            }
            yield Thing("crossings", crossing.id, fields)
        for table in layout.turntables.values():
            fields = {
                "kind": one(table.kind),
                "draw": self._hint("order", table.order),
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
        """Return the groups that are worked together; groups that share a member are joined."""
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
        """Return the position of a signal in mm; None at the end that its trains run to."""
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
            "_position": one(arm.position),
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
        found: Mapping[str, Any] = self.data["signals"][signal.id]["arms"][arm.position]
        return found

    def _lie(self, name: str, word: str) -> str:
        """Return the lie for a word of the plan, which may also be ``normal`` or ``reverse``."""
        switch = self.layout.switch(name)
        return (lie_of(switch, word) if switch is not None else None) or word

    # --- working

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
        yield from self._working()
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
            yield Thing("boards", name, {})
        for join in self.data.get("joins", ()):
            sides = sorted((join["a"], join["b"]))
            fields = {"ends": any_order(map(self._board_edge, sides))}
            yield Thing("joins", " + ".join(sides), fields)

    def _board_edge(self, text: str) -> Entry:
        board, _, edge = text.partition(":")
        return self.ref(board, "boards"), edge

    def _scenes(self) -> Iterator[Thing]:
        for scene in self.layout.scenes.values():
            # Normal is the default: it means the same as no entry.
            lies = (
                (self._switch(name), self._lie(name, word))
                for name, word in scene.points.items()
                if self._lie(name, word) != self._lie(name, "normal")
            )
            fields = {
                "points": any_order(lies),
                "off": any_order((self.ref(name, "arms"),) for name in scene.off),
                "trains": self._standing(scene.trains),
                "name": self._called("scenes", scene.id),
            }
            yield Thing("scenes", scene.id, fields)

    def _standing(self, trains: Mapping[str, object]) -> Field:
        return any_order(
            (
                self.ref(place, "tracks", "yards"),
                self.ref(train, "trains") if isinstance(train, str) else None,
            )
            for place, train in trains.items()
        )

    def _working(self) -> Iterator[Thing]:
        for session in self.layout.sessions.values():
            moves = tuple(self._move(move) for move in session.moves)
            fields = {
                "trains": self._standing(session.trains),
                "moves": Field(moves),
                "name": self._called("sessions", session.id),
            }
            yield Thing("sessions", session.id, fields)

    def _move(self, move: SessionMove) -> Entry:
        def where(name: str) -> Entry:
            if name.startswith("edge:"):
                return "edge", Ref("edges", name.removeprefix("edge:"))
            return (self.ref(name, "tracks", "platforms", "yards"),)

        entry: list[Atom] = [self.ref(move.train, "trains")]
        if move.start is not None:
            entry += ["from", *where(move.start)]
        entry += ["to", *where(move.to)]
        for name in move.via:
            entry += ["over", *where(name)]
        if move.arm is not None:
            entry += ["by", self.ref(move.arm, "arms")]
        return tuple(entry)

    def _place(self, entry: Accepted) -> Entry:
        return pointer_parts(self.layout, self.known, entry.at)


def duty_ref(parts: _Parts, words: str, name: str) -> Ref:
    """Return the thing that the last word of a duty names, by the word before it."""

    kinds: Mapping[str, tuple[str, ...]] = {
        "platform": ("platforms",),
        "holds": ("tracks", "yards"),
    }
    last = words.rpartition(" ")[2]
    return parts.ref(name, *kinds.get(last, ELEMENTS))
