"""The ground of a plan, read from its plain JSON: places, ways on, stands, heads and routes.

Written from the format's page and the definition of what holds alone. A *spot* is a place with
the way in which a train is in it: its heading in a section, the leg by which it came into an
element, nothing in a yard or where it has not yet set off.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

Plan = dict[str, Any]
Spot = tuple[str, str]
Lies = dict[str, str]

AWAY = {"up": "down", "down": "up"}
PREFIX = {"points": "points", "crossings": "crossing", "turntables": "turntable", "yards": "yard"}
ELEMENTS = ("points", "crossings", "turntables")
HOLDS = ("stop", "shunt")
GIVES_LEAVE = {"stop": "stop", "shunt": "shunt", "calling-on": "stop"}
"""From the kinds of arm to whose routes they speak for."""


class Head(NamedTuple):
    """The arms of one post that hold the trains of one track with one heading."""

    signal: str
    track: str
    heading: str
    at: float | None
    arms: tuple[tuple[str, str], ...]
    """(arm id, kind), those that give leave for something; one at least holds trains."""

    @property
    def kinds(self) -> set[str]:
        return {kind for _, kind in self.arms}


class Way(NamedTuple):
    """One move on: where it leads, and the switch that it needs in a lie."""

    to: Spot
    switch: str = ""
    lie: str = ""


class Gate(NamedTuple):
    """A way out of a spot, and the head that guards it."""

    head: Head | None
    ways: tuple[Way, ...]


@dataclass(frozen=True)
class Route:
    """A way from a head to where it may be run to."""

    head: Head
    kind: str
    start: Spot
    path: tuple[Spot, ...]
    lies: tuple[tuple[str, str], ...]
    over: tuple[str, ...]
    ends_at: str

    @cached_property
    def places(self) -> frozenset[str]:
        return frozenset(place for place, _ in self.path)


class Roads:
    """All that one train can do on a plan.

    `gates`: from each spot to its ways out; `stands`: from each place where a train may set off to
    the headings that it may take (nothing for a yard).
    """

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.tracks: dict[str, Any] = plan["tracks"]
        self.yard_of = {
            (kind, member): self.name("yards", yard_id)
            for yard_id, yard in plan.get("yards", {}).items()
            for kind in ("tracks", *ELEMENTS)
            for member in yard.get(kind, ())
        }
        self.ends: dict[str, list[tuple[str, str]]] = {}
        for track_id, track in self.tracks.items():
            for end in ("up", "down"):
                self.ends.setdefault(track[end], []).append((track_id, end))
        self.heads = list(_heads(plan))
        self.sections: dict[str, list[str]] = {}
        self.facing: dict[Spot, Head] = {}
        for track_id in self.tracks:
            if ("tracks", track_id) not in self.yard_of:
                self._cut(track_id)
        self.track_of = {name: t for t, names in self.sections.items() for name in names}
        self.gates = dict(self._all_gates())
        self.stands = {
            name: tuple(way for way in ("down", "up") if self.allows(track_id, way))
            for track_id, names in self.sections.items()
            if self.is_stand(track_id)
            for name in names
        }
        self.stands |= {self.name("yards", yard_id): ("",) for yard_id in plan.get("yards", {})}

    # ---- what the plan says of single things

    def name(self, kind: str, id_: str) -> str:
        kinds = ("tracks", *ELEMENTS, "yards")
        alike = sum(id_ in self.plan.get(each, {}) for each in kinds)
        return id_ if alike == 1 else f"{PREFIX[kind]}:{id_}"

    def allows(self, track_id: str, heading: str) -> bool:
        return self.tracks[track_id].get("running", "both") in ("both", heading)

    def is_stand(self, track_id: str) -> bool:
        track = self.tracks[track_id]
        beside = any(track_id in p["tracks"] for p in self.plan.get("platforms", {}).values())
        usual = beside or ends_there(track["up"]) or ends_there(track["down"])
        return bool(track.get("stand", usual))

    def is_trap_road(self, track_id: str) -> bool:
        """Whether a track is there to catch what trap points turn aside, and for nothing else."""
        track = self.tracks[track_id]
        met = {track["up"], track["down"]}
        traps = {name for name, points in self.plan.get("points", {}).items() if points.get("trap")}
        leaves = any(t.partition(".")[0] in traps and not t.endswith(".toe") for t in met)
        return leaves and "buffer" in met and not self.is_stand(track_id)

    def _cut(self, track_id: str) -> None:
        track = self.tracks[track_id]
        heads = [head for head in self.heads if head.track == track_id]
        at_end = {"up": 0, "down": track.get("length_mm")}
        cuts = sorted({h.at for h in heads if h.at is not None and h.at != at_end[h.heading]})
        names = [f"{track_id}.{n}" for n in range(1, len(cuts) + 2)] if cuts else [track_id]
        self.sections[track_id] = names
        for head in heads:
            if head.at is None or head.at == at_end[head.heading]:
                where = names[-1] if head.heading == "down" else names[0]
            else:
                where = names[cuts.index(head.at) + (head.heading == "up")]
            assert (where, head.heading) not in self.facing
            self.facing[where, head.heading] = head

    # ---- ways on

    def _enter(self, track_id: str, end: str) -> tuple[Spot, ...]:
        """The spot of a train coming on to a track by an end; none where it may not."""
        heading = AWAY[end]
        if not self.allows(track_id, heading):
            return ()
        yard = self.yard_of.get(("tracks", track_id))
        if yard is not None:
            return ((yard, ""),)
        return ((self.sections[track_id][0 if heading == "down" else -1], heading),)

    def _element(self, text: str) -> tuple[str, str, str]:
        """The kind, the id and the leg that a track end names."""
        id_, _, leg = text.partition(".")
        for kind in ELEMENTS:
            if leg in _legs(kind, self.plan.get(kind, {}).get(id_)):
                return kind, id_, leg
        raise AssertionError(f"nothing is called {text}")

    def _beyond(self, track_id: str, end: str) -> tuple[Way, ...]:
        text = self.tracks[track_id][end]
        if ends_there(text):
            return ()
        if text.startswith("joint:"):
            others = list(self.ends[text])
            others.remove((track_id, end))
            return tuple(Way(spot) for spot in self._enter(*others[0]))
        kind, id_, leg = self._element(text)
        yard = self.yard_of.get((kind, id_))
        return (Way((self.name(kind, id_), leg) if yard is None else (yard, "")),)

    def _through(self, kind: str, id_: str, leg: str) -> Iterator[Way]:
        for out, lie in _crossings_of(kind, self.plan[kind][id_], leg):
            for spot in self._enter(*self.ends[f"{id_}.{out}"][0]):
                yield Way(spot, id_ if lie else "", lie)

    def _all_gates(self) -> Iterator[tuple[Spot, tuple[Gate, ...]]]:
        for track_id, names in self.sections.items():
            for heading, onward in (("down", names), ("up", names[::-1])):
                for name, following in zip(onward, [*onward[1:], None], strict=True):
                    ways = (
                        self._beyond(track_id, heading)
                        if following is None
                        else (Way((following, heading)),)
                    )
                    spot = (name, heading)
                    yield spot, (Gate(self.facing.get(spot), ways),)
        for kind in ELEMENTS:
            for id_, element in self.plan.get(kind, {}).items():
                if (kind, id_) not in self.yard_of:
                    for leg in _legs(kind, element):
                        ways = tuple(self._through(kind, id_, leg))
                        yield (self.name(kind, id_), leg), (Gate(None, ways),)
        for yard_id, yard in self.plan.get("yards", {}).items():
            name = self.name("yards", yard_id)
            yield (name, ""), tuple(self._borders(yard, (name, "")))

    def _borders(self, yard: dict[str, Any], inside: Spot) -> Iterator[Gate]:
        for track_id in yard.get("tracks", ()):
            for heading in ("down", "up"):
                ways = tuple(w for w in self._beyond(track_id, heading) if w.to != inside)
                if ways and self.allows(track_id, heading):
                    yield Gate(self._last_head(track_id, heading), ways)
        for kind in ELEMENTS:
            for id_ in yard.get(kind, ()):
                for leg in _legs(kind, self.plan[kind][id_]):
                    for spot in self._enter(*self.ends[f"{id_}.{leg}"][0]):
                        if spot != inside:
                            yield Gate(None, (Way(spot),))

    def _last_head(self, track_id: str, heading: str) -> Head | None:
        """Of the heads along a yard's track, the one nearest to the border."""
        found = [h for h in self.heads if (h.track, h.heading) == (track_id, heading)]
        if any(head.at is None for head in found):
            return next(head for head in found if head.at is None)
        sign = 1 if heading == "down" else -1
        return max(found, key=lambda head: sign * (head.at or 0), default=None)

    # ---- routes

    @cached_property
    def levers(self) -> dict[str, str]:
        """From each switch to the one that stands for all that are worked together with it."""
        of = {id_: id_ for kind in ("points", "crossings") for id_ in self.plan.get(kind, {})}
        for together in self.plan.get("worked_together", ()):
            joined = {of[member] for member in together}
            of = {s: of[together[0]] if lever in joined else lever for s, lever in of.items()}
        return of

    def lever(self, switch: str, lie: str) -> tuple[str, str]:
        """The lever that a lie is worked by, and how it must be for that."""
        lever = self.levers[switch]
        if sum(other == lever for other in self.levers.values()) == 1:
            return lever, lie
        normal = self.plan.get("points", {}).get(switch, {}).get("normal", "straight")
        return lever, "normal" if lie == normal else "reverse"

    def levers_of(self, lies: Lies) -> dict[str, str] | None:
        """How the levers must be for these lies, None where that can not be."""
        worked: dict[str, str] = {}
        for switch, lie in lies.items():
            lever, how = self.lever(switch, lie)
            if worked.setdefault(lever, how) != how:
                return None
        return worked

    def routes(self) -> Iterator[Route]:
        """Every route of every head."""
        for start, gates in self.gates.items():
            for gate in gates:
                head = gate.head
                if head is None or not self.allows(head.track, head.heading):
                    continue
                for kind in HOLDS:
                    if kind in head.kinds:
                        for path, lies in self._follow(kind, (), gate.ways, {}):
                            yield self._route(head, kind, start, path, lies)

    def _follow(
        self, kind: str, path: tuple[Spot, ...], ways: tuple[Way, ...], lies: Lies
    ) -> Iterator[tuple[tuple[Spot, ...], Lies]]:
        for way in ways:
            on = {**lies, way.switch: way.lie} if way.switch else lies
            agree = lies.get(way.switch, way.lie) == way.lie and self.levers_of(on) is not None
            if way.to in path or not agree:
                continue
            longer = (*path, way.to)
            if self.end_of_route(kind, way.to) is not None:
                yield longer, on
            else:
                yield from self._follow(kind, longer, self.gates[way.to][0].ways, on)

    def end_of_route(self, kind: str, spot: Spot) -> str | None:
        """What a route that has come here ends at: a signal, a track, a yard; None: it goes on."""
        place, way = spot
        if way == "":
            yards: list[str] = [*self.plan["yards"]]
            return next(yard for yard in yards if self.name("yards", yard) == place)
        head = self.facing.get(spot)
        if head is not None and (kind == "shunt" or "stop" in head.kinds):
            return head.signal
        track_id = self.track_of.get(place)
        if track_id is None:
            return None
        last = self.sections[track_id][-1 if way == "down" else 0]
        at_line_end = place == last and ends_there(self.tracks[track_id][way])
        return track_id if at_line_end else None

    def _route(
        self, head: Head, kind: str, start: Spot, path: tuple[Spot, ...], lies: Lies
    ) -> Route:
        over = [self.track_of[place] for place, _ in path if place in self.track_of]
        ends_at = self.end_of_route(kind, path[-1])
        assert ends_at is not None
        return Route(
            head, kind, start, path, tuple(sorted(lies.items())), without_repeats(over), ends_at
        )


def without_repeats(tracks: list[str]) -> tuple[str, ...]:
    """The tracks in order, one that follows on itself named once."""
    return tuple(
        track for number, track in enumerate(tracks) if number == 0 or tracks[number - 1] != track
    )


def ends_there(text: str) -> bool:
    return text == "buffer" or text.startswith("edge:")


def _heads(plan: Plan) -> Iterator[Head]:
    for signal_id, signal in plan.get("signals", {}).items():
        found: dict[tuple[str, str, float | None], list[tuple[str, str]]] = {}
        for arm in signal["arms"]:
            own_track = "track" in arm
            at = arm.get("at_mm", None if own_track else signal.get("at_mm"))
            where = (arm.get("track", signal["track"]), arm.get("for", signal["for"]), at)
            if arm.get("kind", "stop") in GIVES_LEAVE:
                found.setdefault(where, []).append((arm["id"], arm.get("kind", "stop")))
        for (track, heading, at), arms in found.items():
            head = Head(signal_id, track, heading, at, tuple(arms))
            if head.kinds & {*HOLDS}:
                yield head


def _legs(kind: str, element: dict[str, Any] | None) -> tuple[str, ...]:
    if element is None:
        return ()
    if kind == "turntables":
        return tuple(element["roads"])
    if kind == "crossings":
        return ("a1", "a2", "b1", "b2")
    return ("toe", *_lies(element))


def _lies(points: dict[str, Any]) -> tuple[str, ...]:
    return ("left", "middle", "right") if points.get("kind") == "three-way" else ("left", "right")


def _crossings_of(kind: str, element: dict[str, Any], leg: str) -> list[tuple[str, str]]:
    """The legs that a train comes to from a leg, each with the lie that it needs."""
    if kind == "turntables":
        return [(road, "") for road in element["roads"]]
    if kind == "points":
        return [(lie, lie) for lie in _lies(element)] if leg == "toe" else [("toe", leg)]
    slip = element.get("kind", "diamond")
    lie = "" if slip == "diamond" else "straight"
    found = [({"a1": "a2", "a2": "a1", "b1": "b2", "b2": "b1"}[leg], lie)]
    slipping = {"single-slip": {"a1": "b2", "b2": "a1"}}.get(slip, {})
    if slip == "double-slip":
        slipping = {"a1": "b2", "b2": "a1", "b1": "a2", "a2": "b1"}
    if leg in slipping:
        found.append((slipping[leg], "slip"))
    return found
