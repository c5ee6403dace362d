"""The routes of every arm of a plan, derived from its plain JSON without the library."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cmp_to_key
from itertools import pairwise
from typing import Any, NamedTuple

from oracle import conflicts
from oracle.ground import Ground, Move, Route, Spot
from oracle.heads import Head
from oracle.sections import Piece

Plan = dict[str, Any]
HeadKey = tuple[str, str, float | None]
"""Track, heading and at_mm (None: at the end). Arms of two signals may belong to one head."""

GIVING_LEAVE = ("stop", "calling-on", "shunt")
LEG_RANK = {"left": 0, "middle": 1, "right": 2}


class Road(NamedTuple):
    """A route with its lies. ``past``: the heads without a stop arm that it passes."""

    number: int
    head: HeadKey
    kind: str
    start: Spot
    spots: tuple[Spot, ...]
    lies: dict[str, str]
    past: tuple[HeadKey, ...]
    at_limit: bool
    """True if it ends at a limit outside a stand."""
    into_drag: bool

    @property
    def places(self) -> frozenset[str]:
        return frozenset(place for place, _ in self.spots)

    def along(self, other: Road) -> bool:
        """Return whether one road is the beginning of the other."""
        both = min(len(self.spots), len(other.spots))
        return self.spots[:both] == other.spots[:both]


class Arm(NamedTuple):
    """An arm as written, with the values that it takes from its signal."""

    id: str
    signal: str
    number: int
    """Its index among the arms of its signal, from 0."""
    kind: str
    key: HeadKey
    doll: int
    value: dict[str, Any]


def many(value: Any) -> list[str]:
    """Return a name, or a list of names, as a list."""
    if value is None:
        return []
    return [value] if isinstance(value, str) else list(value)


def arms_of(plan: Plan) -> Iterator[Arm]:
    """Return every arm of the plan, in its order, with its doll and place."""
    for signal_id, signal in plan.get("signals", {}).items():
        dolls: dict[str, int] = {}
        last = 0
        for index, arm in enumerate(signal["arms"]):
            doll = arm.get("doll") or dolls.get(arm.get("under", "")) or last + 1
            last = max(last, doll)
            dolls[arm["id"]] = doll
            track = arm.get("track", signal["track"])
            heading = arm.get("for", signal["for"])
            at = arm.get("at_mm", signal.get("at_mm") if track == signal["track"] else None)
            right_end = 0 if heading == "up" else plan["tracks"][track].get("length_mm")
            key = (track, heading, None if at == right_end else at)
            yield Arm(arm["id"], signal_id, index, arm.get("kind", "stop"), key, doll, arm)


class Meaning(Ground):
    """The roads of every head, and those for which each arm gives leave."""

    def __init__(self, plan: Plan) -> None:
        super().__init__(plan)
        self.tracks_at = {
            name: list(dict.fromkeys(piece.track for piece in section.pieces))
            for name, section in self.sections.items()
        }
        for yard, value in plan.get("yards", {}).items():
            self.tracks_at[self.yard_place(yard)] = list(value.get("tracks", []))
        self.head_at_spot = {self.key(head): head for head in self.all_heads}
        self.held_at = {
            self.key(way.head): spot
            for spot, ways in self.ways_out.items()
            for way in ways
            if way.head is not None
        }
        self.roads: dict[tuple[HeadKey, str], list[Road]] = {}
        for route in self.all_routes:
            road = self._road(route)
            self.roads.setdefault((road.head, road.kind), []).append(road)
        every = list(arms_of(plan))
        self._holding = {(arm.signal, arm.key) for arm in every if arm.kind in ("stop", "shunt")}
        self.arms = [arm for arm in every if arm.kind in GIVING_LEAVE]
        self.by_id = {arm.id: arm for arm in self.arms}
        self.speaks: dict[str, list[Road] | None] = {}
        for arm in self.arms:
            self.speaks[arm.id] = self._speaks(arm)

    @staticmethod
    def key(head: Head) -> HeadKey:
        return head.track, head.heading, head.at

    def yard_place(self, yard: str) -> str:
        return self.elements.place_name("yards", yard)

    def places_of(self, track: str) -> list[str]:
        """Return the places of a track from its up end, yards included, each once."""
        return list(dict.fromkeys(self.spot(each, "down")[0] for each in self.pieces[track]))

    def form(self, signal: str) -> str:
        signals: Plan = self.plan["signals"]
        form: str = signals.get(signal, {}).get("form", "upper-quadrant")
        return form

    def head_of(self, arm: Arm) -> Head | None:
        """Return the head of an arm, None if its signal holds no trains at that spot."""
        return self.head_at_spot[arm.key] if (arm.signal, arm.key) in self._holding else None

    def stand_said(self, track_id: str) -> bool:
        """Return whether a track is a stand by its own keys, without its signals."""
        track = self.tracks[track_id]
        platforms = self.plan.get("platforms", {}).values()
        ends = track["up"] + track["down"]
        served = any(track_id in platform["tracks"] for platform in platforms)
        return bool(track.get("stand", served or "buffer" in ends or "edge:" in ends))

    def drags(self) -> set[str]:
        """Return the sections into which trap points turn trains."""
        return {
            move.to[0]
            for ways in self.ways_out.values()
            for way in ways
            for move in way.moves
            if move.derails
        }

    def facing(self, spot: Spot) -> Head | None:
        """Return the head that faces a train at a spot of a track."""
        return None if spot[1] == "" else self.ways_out[spot][0].head

    def beside(self, key: HeadKey) -> tuple[Piece, str] | None:
        """Return the section and heading of a train beside a post, None in a yard."""
        track, heading, at = key
        pieces = self.pieces[track]
        if at is None:
            piece = pieces[-1 if heading == "down" else 0]
        elif heading == "down":
            piece = next(each for each in pieces if each.stop is None or at <= each.stop)
        else:
            piece = next(each for each in reversed(pieces) if each.start <= at)
        return None if piece.yard is not None else (piece, heading)

    def last_track(self, spot: Spot) -> str:
        """Return the track at the end of a section to which a train runs."""
        return self.sections[spot[0]].ends[spot[1]][0].track

    def may_lie(self, spot: Spot, move: Move) -> bool:
        """Return whether guarding trap points let a train without a promise run on."""
        if move.element is None or move.lie is None or not self.elements.is_facing(*spot):
            return True
        group = self.group_of[move.element]
        word = self.elements.word(move.element, move.lie)
        return group not in self.guards or self.elements.is_normal(group, word)

    # ---- roads -----------------------------------------------------------------------------

    def _road(self, route: Route) -> Road:
        last = route.spots[-1]
        limit = last[0] in self.sections and last[0] not in self.stands
        if limit:
            piece, end = self.sections[last[0]].ends[last[1]]
            at_end = piece.reaches(end) and self._is_end(self.tracks[piece.track][end])
            limit = not at_end and not self.ways_out[last][0].moves
        past = tuple(self.key(head) for _, head in route.heads)
        return Road(route.number, self.key(route.head), route.kind, route.start, route.spots,
                    self._lies(route), past, limit, route.derails)  # fmt: skip

    @staticmethod
    def _is_end(text: str) -> bool:
        return text == "buffer" or text.startswith("edge:")

    def _lies(self, route: Route) -> dict[str, str]:
        lies: dict[str, str] = {}
        ways = [way for way in self.ways_out[route.start] if way.head == route.head]
        for spot in route.spots:
            move = next(each for way in ways for each in way.moves if each.to == spot)
            if move.element is not None and move.lie is not None:
                lies[move.element] = move.lie
            ways = list(self.ways_out[spot])
        return lies

    def group(self, name: str) -> list[str]:
        """Return everything worked together with points or a slip, itself included."""
        root = self.group_of[name]
        return [each for each, group in self.group_of.items() if group == root]

    def needs(self, road: Road) -> dict[str, str]:
        """Return the lie of each group that a road needs."""
        return self.all_routes[road.number].words

    def of_head(self, key: HeadKey) -> list[Road]:
        """Return all roads of a head."""
        return self.roads.get((key, "stop"), []) + self.roads.get((key, "shunt"), [])

    def own(self, key: HeadKey, kind: str) -> list[Road]:
        """Return the roads of a head for which an arm of this kind may give leave."""
        kind = "shunt" if kind == "shunt" else "stop"
        found = [road for road in self.roads.get((key, kind), []) if not road.into_drag]
        to_limits = [road for road in found if kind == "stop" and road.at_limit]
        return found if to_limits == found else [road for road in found if road not in to_limits]

    # ---- the roads of each arm -------------------------------------------------------------

    def kin(self, arm: Arm) -> list[Arm]:
        """Return the arms of the same kind on the same head, from left to right."""
        same = [each for each in self.arms if (each.key, each.kind) == (arm.key, arm.kind)]
        return sorted(same, key=lambda each: each.doll)

    def _speaks(self, arm: Arm) -> list[Road] | None:
        if arm.kind == "calling-on" and not self._may_call_on(arm):
            return []
        own = self.own(arm.key, arm.kind)
        to = many(arm.value.get("to"))
        if to:
            return [road for road in own if all(self.over(road, name) for name in to)]
        if arm.kind == "calling-on":
            for above in self.arms:
                same = above.kind == "stop" and above.key == arm.key
                if same and above.id == arm.value.get("under"):
                    return self._speaks(above)
        kin = self.kin(arm)
        if len(kin) == 1:
            return own
        ordered = self.in_order(own)
        if ordered is None or len(ordered) != len(kin):
            return None
        return [ordered[kin.index(arm)]]

    def _may_call_on(self, arm: Arm) -> bool:
        head = self.head_of(arm)
        return head is not None and "stop" in head.kinds

    def over(self, road: Road, name: str) -> bool:
        """Return whether a road runs over a track, a platform or a yard."""
        if name in self.tracks:
            tracks = [name]
        elif name in self.plan.get("platforms", {}):
            tracks = list(self.plan["platforms"][name]["tracks"])
        else:
            return name in self.plan.get("yards", {}) and self.yard_place(name) in road.places
        met = {track for place in road.places for track in self.tracks_at.get(place, ())}
        return not met.isdisjoint(tracks)

    def side(self, one: Road, other: Road) -> int:
        """Return -1 if the first road is left of the second, 1 if right of it, 0 if unknown."""
        before = one.start
        for mine, theirs in zip(one.spots, other.spots, strict=False):
            if mine != theirs:
                name, leg = before
                if leg != "toe" or name not in one.lies:
                    return 0
                left = LEG_RANK[one.lies[name]] < LEG_RANK[other.lies[name]]
                return -1 if left else 1
            before = mine
        return 0

    def in_order(self, roads: Iterable[Road]) -> list[Road] | None:
        """Return roads of one head from left to right, None if their order is unknown."""
        ordered = sorted(roads, key=cmp_to_key(self.side))
        return ordered if all(self.side(a, b) < 0 for a, b in pairwise(ordered)) else None

    # ---- conflicts -------------------------------------------------------------------------

    def conflict(self, one: Road, other: Road) -> bool:
        """Return whether two roads must never be given at once."""
        routes = self.all_routes
        return conflicts.conflict(self, routes[one.number], routes[other.number]) is not None

    def passes_along(self, main: Road, shunt: Road) -> bool:
        """Return whether a road passes a shunt signal and runs along a whole road of it."""
        return conflicts.along(self.all_routes[main.number], self.all_routes[shunt.number])
