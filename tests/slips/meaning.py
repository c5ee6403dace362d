"""What every arm of a plan means, worked out from its plain JSON without the library."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cmp_to_key
from itertools import pairwise
from typing import Any, NamedTuple

from oracle.ground import Ground, Move, Spot
from oracle.heads import Head

Plan = dict[str, Any]
HeadKey = tuple[str, str, str, float | None]
"""Signal, track, heading and distance, None for right at the end."""

GIVING_LEAVE = ("stop", "calling-on", "shunt")
LEG_RANK = {"left": 0, "middle": 1, "right": 2}


class Road(NamedTuple):
    """One route with its lies. ``past``: the heads of shunt arms alone that it passes."""

    head: HeadKey
    kind: str
    start: Spot
    spots: tuple[Spot, ...]
    lies: dict[str, str]
    needs: dict[str, str]
    past: tuple[HeadKey, ...]
    trapped: bool

    @property
    def places(self) -> frozenset[str]:
        return frozenset(place for place, _ in self.spots)


class Arm(NamedTuple):
    """One arm as it is written, with what its signal gives it."""

    id: str
    signal: str
    number: int
    """Its place among the arms of its signal, from 0."""
    kind: str
    key: HeadKey
    doll: int
    value: dict[str, Any]


def many(value: Any) -> list[str]:
    """A name or a list of names as a list."""
    if value is None:
        return []
    return [value] if isinstance(value, str) else list(value)


def arms_of(plan: Plan) -> Iterator[Arm]:
    """Every arm of the plan, in its order, with its doll and where it stands."""
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
            key = (signal_id, track, heading, None if at == right_end else at)
            yield Arm(arm["id"], signal_id, index, arm.get("kind", "stop"), key, doll, arm)


class Meaning(Ground):
    """The roads of every head, and which of them every arm speaks for."""

    def __init__(self, plan: Plan) -> None:
        super().__init__(plan)
        self.plan = plan
        self.track_of = {name: track for track, names in self._sections.items() for name in names}
        self.held_at = {
            self._key(way.head): spot
            for spot, ways in self.ways_out.items()
            for way in ways
            if way.head is not None
        }
        self.heads = {self._key(head): head for head in self._heads}
        self.roads: dict[tuple[HeadKey, str], list[Road]] = {}
        for spot, ways in self.ways_out.items():
            for way in ways:
                if way.head is not None:
                    for kind in way.head.kinds:
                        found = self.roads.setdefault((self._key(way.head), kind), [])
                        found += self._roads(way.head, kind, spot, way.moves)
        self.arms = [arm for arm in arms_of(plan) if arm.kind in GIVING_LEAVE]
        self.by_id = {arm.id: arm for arm in self.arms}
        self.speaks: dict[str, list[Road] | None] = {}
        for arm in self.arms:
            self.speaks[arm.id] = self._speaks(arm)

    @staticmethod
    def _key(head: Head) -> HeadKey:
        return head.signal, head.track, head.heading, head.at

    def form(self, signal: str) -> str:
        form: str = self.plan["signals"][signal].get("form", "upper-quadrant")
        return form

    def runs(self, key: HeadKey) -> bool:
        """Whether trains may run past that head at all, by the running of its own track."""
        return self._running_allows(key[1], key[2])

    def facing(self, spot: Spot) -> Head | None:
        """The head that faces a train at that spot of a track."""
        return self._faced.get(spot)

    def _roads(self, head: Head, kind: str, spot: Spot, moves: tuple[Move, ...]) -> Iterator[Road]:
        key = self._key(head)
        if not self.runs(key):
            return
        for spots in self._follow(kind, (), moves, {}):
            lies = self._lies(moves, spots)
            faced = [self._faced.get(each) for each in spots[:-1]]
            past = tuple(self._key(each) for each in faced if each is not None)
            trapped = self._is_trap(spots[-1][0])
            yield Road(key, kind, spot, spots, lies, self._needs(lies), past, trapped)

    def _lies(self, moves: tuple[Move, ...], spots: tuple[Spot, ...]) -> dict[str, str]:
        lies: dict[str, str] = {}
        for spot in spots:
            move = next(each for each in moves if each.to == spot)
            if move.element is not None and move.lie is not None:
                lies[move.element] = move.lie
            moves = tuple(each for way in self.ways_out[spot] for each in way.moves)
        return lies

    def _needs(self, lies: dict[str, str]) -> dict[str, str]:
        needs: dict[str, str] = {}
        for name, lie in lies.items():
            group = self._groups.get(name, frozenset((name,)))
            word = lie
            if len(group) > 1:
                word = "normal" if lie == self._by_name[name].normal else "reverse"
            needs[min(group)] = word
        return needs

    def _is_trap(self, place: str) -> bool:
        track = self.track_of.get(place)
        if track is None or self._is_stand_track(track):
            return False
        ends = [self.plan["tracks"][track][end] for end in ("up", "down")]
        met = [end.partition(".") for end in ends]
        points = self.plan.get("points", {})
        return "buffer" in ends and any(
            leg not in ("", "toe") and points.get(name, {}).get("trap") for name, _, leg in met
        )

    # ---- which roads an arm speaks for -----------------------------------------------------

    def own(self, key: HeadKey, kind: str) -> list[Road]:
        """The roads of a head that an arm of that kind may speak for."""
        found = self.roads.get((key, "shunt" if kind == "shunt" else "stop"), [])
        return [road for road in found if not road.trapped]

    def kin(self, arm: Arm) -> list[Arm]:
        """The arms of the same kind on the same head, from left to right."""
        same = [each for each in self.arms if (each.key, each.kind) == (arm.key, arm.kind)]
        return sorted(same, key=lambda each: each.doll)

    def _speaks(self, arm: Arm) -> list[Road] | None:
        if arm.kind == "calling-on" and "stop" not in self._kinds(arm.key):
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

    def _kinds(self, key: HeadKey) -> frozenset[str]:
        head = self.heads.get(key)
        return head.kinds if head is not None else frozenset()

    def over(self, road: Road, name: str) -> bool:
        """Whether a road runs over a track, a platform or a yard."""
        if name in self.plan["tracks"]:
            tracks = [name]
        elif name in self.plan.get("platforms", {}):
            tracks = list(self.plan["platforms"][name]["tracks"])
        else:
            return name in self.plan.get("yards", {}) and name in road.places
        met = {self.track_of.get(place) for place in road.places}
        yards = [self.plan["yards"][p] for p in road.places if p in self.plan.get("yards", {})]
        return any(t in met or any(t in y.get("tracks", []) for y in yards) for t in tracks)

    def side(self, one: Road, other: Road) -> int:
        """-1 where the first road lies to the left of the second, 1 to its right, 0 not told."""
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
        """Roads of one head from left to right, None where left and right are not told."""
        ordered = sorted(roads, key=cmp_to_key(self.side))
        return ordered if all(self.side(a, b) < 0 for a, b in pairwise(ordered)) else None

    # ---- conflicts -------------------------------------------------------------------------

    def conflict(self, one: Road, other: Road) -> bool:
        """Whether two roads may never be given at once."""
        if along(one, other) or along(other, one):
            return False
        clash = any(other.needs.get(name, word) != word for name, word in one.needs.items())
        return clash or not one.places.isdisjoint(other.places)


def along(main: Road, shunt: Road) -> bool:
    """Whether a road passes a shunt signal and runs all along a road of that."""
    if shunt.kind != "shunt" or shunt.head not in main.past or shunt.spots[0] not in main.spots:
        return False
    start = main.spots.index(shunt.spots[0])
    return main.spots[start : start + len(shunt.spots)] == shunt.spots
