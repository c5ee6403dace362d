"""A railway worked by hand: points, arms and trains, by the definitions alone.

It works a signalman's order, one step after another, and refuses each step that the meaning of the
format forbids (``schema/README.md``). It takes the roads of every arm from ``slips.meaning``, which
derives them from the plan's plain JSON, and shares no code with the library.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple, TypeVar

from oracle.game import Train, acts, start_of
from oracle.ground import Ground, Spot
from slips.meaning import Meaning, Road

Order = dict[str, Any]
G = TypeVar("G", bound=Ground)


class RefusedError(AssertionError):
    """Raised for a step that is forbidden."""


class Done(NamedTuple):
    """The cost of one order, to compare roads."""

    stops: int
    places: int
    leaves: int


class Railway:
    """A plan with trains. All arms are at danger, all points normal except ``points``."""

    def __init__(self, plan: Any, trains: dict[str, str], points: dict[str, str] | None = None):
        self.meaning = by_hand_signal(Meaning(plan))
        self.elements = self.meaning.elements
        self.plan = plan
        self.lies = {
            name: element.normal
            for name, element in self.elements.by_name.items()
            if element.normal is not None
        } | (points or {})
        self.off: set[str] = set()
        self.trains: dict[str, list[Train]] = {
            name: [start_of(place)] for name, place in trains.items()
        }

    # --- an order

    def work(self, order: Order) -> Done:
        """Work an order; every arm must be at danger again in the end."""
        name = order["train"]
        at = self.trains[name]
        if at[0].place != order["from"]:
            raise RefusedError(f"{name} is in {at[0].place}, not in {order['from']}")
        stops = places = leaves = 0
        for number, stage in enumerate(order["stages"]):
            if stage["sets_off"]:
                stops += number > 0
                self._set_off(name, stage["heading"])
            for work in stage["do"]:
                self._do(work, name)
            for place in stage["over"]:
                leaves += self._run(name, place)
                places += 1
            for work in stage["after"]:
                self._do(work, name)
        for work in order["restore"]:
            self._do(work, name)
        if self.off:
            raise RefusedError(f"{self.off} are left off")
        self._come_to_rest(name)
        if self.trains[name][0].place != order["to"]:
            raise RefusedError(f"{name} ends in {self.trains[name][0].place}, not in {order['to']}")
        return Done(stops, places, leaves)

    def _come_to_rest(self, name: str) -> None:
        """Refuse a train that neither stands in a stand nor is held with nothing promised."""
        found = []
        for train in self.trains[name]:
            if train.place in self.meaning.stands:
                found.append(start_of(train.place))
            elif not train.ahead and self.meaning.facing(train.spot) is not None:
                found.append(train)
        if not found:
            raise RefusedError(f"{name} cannot be left where it is")
        self.trains[name] = found

    # --- points and arms

    def _do(self, work: dict[str, Any], name: str) -> None:
        if work["do"] == "set":
            self._set(work["points"])
        elif work["do"] == "on":
            self.off.difference_update(work["arms"])
        else:
            for arm in work["arms"]:
                if self._is_distant(arm):
                    continue
                self.off.add(arm)
                self._check(arm, name)

    def _is_distant(self, arm: str) -> bool:
        return arm not in self.meaning.by_id

    def _set(self, points: dict[str, str]) -> None:
        for name, lie in points.items():
            group = set(self.meaning.group(name))
            if not group <= points.keys():
                raise RefusedError(f"{name} moves without those that are worked together with it")
            normal = {points[each] == self.elements.by_name[each].normal for each in group}
            if len(normal) > 1:
                raise RefusedError(f"{group} would lie apart")
            for arm in self.off:
                if any(name in road.lies for road in self._roads_set(arm)):
                    raise RefusedError(f"{name} moves while {arm} is off")
            if any(train.place == name for each in self.trains.values() for train in each):
                raise RefusedError(f"{name} moves under a train")
            self.lies[name] = lie

    def _roads_set(self, arm: str) -> list[Road]:
        return [
            road
            for road in self.meaning.speaks[arm] or ()
            if all(self.lies[name] == lie for name, lie in road.lies.items())
        ]

    def _check(self, arm: str, name: str) -> None:
        """Refuse an arm that is off unless its road is set and free and no conflicting arm is off.

        The format does not know the lie of a turntable, so an arm may have several roads that are
        set. Then one of them must be free.
        """
        roads = self._roads_set(arm)
        if not roads:
            raise RefusedError(f"{arm} is off, but no road of it is set")
        taken = self._taken_but(name)
        free = [road for road in roads if road.places.isdisjoint(taken)]
        if not free:
            raise RefusedError(f"{arm} is off for a road on which a train stands")
        for other in self.off - {arm}:
            theirs = self._roads_set(other)
            if all(self.meaning.conflict(road, each) for road in free for each in theirs):
                raise RefusedError(f"{arm} and {other} are off together")
        if not any(self._past_is_off(road) for road in free):
            raise RefusedError(f"{arm} is off, but a shunt signal on its way is not")

    def _past_is_off(self, road: Road) -> bool:
        own = [each for arm in self.off for each in self._roads_set(arm)]
        return all(any(self.meaning.passes_along(road, each) and each.head == head for each in own)
                   for head in road.past)  # fmt: skip

    def _taken_but(self, name: str) -> set[str]:
        return {
            place
            for other, each in self.trains.items()
            if other != name
            for place in (each[0].place,)
        }

    # --- trains

    def _set_off(self, name: str, heading: str | None) -> None:
        after = [
            act.after
            for train in self.trains[name]
            for act in acts(self.meaning, train)
            if act.step == {"do": "set-off", "heading": heading}
        ]
        if not after:
            raise RefusedError(f"{name} cannot set off {heading} from {self.trains[name][0].place}")
        self.trains[name] = after[:1]

    def _run(self, name: str, place: str) -> int:
        """Let a train run to its next place. Return 1 if it takes leave for this, else 0."""
        if place in self._taken_but(name):
            raise RefusedError(f"{name} runs into {place}, where another train is")
        found: list[Train] = []
        taken = 0
        for train in self.trains[name]:
            given = [
                Train(train.spot, road.spots, road.number) for road in self._given(name, train.spot)
            ]
            for each in (train, *(given if not train.ahead else ())):
                after = [
                    act.after
                    for act in acts(self.meaning, each)
                    if act.step == {"do": "run", "to": place} and self._lies_for(each, act.after)
                ]
                found += after
                taken |= bool(after) and each is not train
        if not found:
            raise RefusedError(f"{name} cannot run from {self.trains[name]} to {place}")
        self.trains[name] = list(dict.fromkeys(found))
        return taken

    def _given(self, name: str, spot: Spot) -> Iterable[Road]:
        return [
            road
            for arm in self.off
            for road in self._roads_set(arm)
            if road.start == spot and road.places.isdisjoint(self._taken_but(name))
        ]

    def _lies_for(self, train: Train, after: Train) -> bool:
        moves = [m for way in self.meaning.ways_out[train.spot] for m in way.moves]
        return any(
            move.to == after.spot
            and (move.element is None or move.lie is None or self.lies[move.element] == move.lie)
            for move in moves
        )


def by_hand_signal(ground: G) -> G:
    """Let trains out over trap points that guard: by hand signal, if no signal holds them."""
    ground.guards = frozenset()
    return ground


def replay(plan: Any, trains: dict[str, str], steps: Iterable[dict[str, Any]]) -> dict[str, str]:
    """Move trains step by step by the rules of the two-train search; return their last places.

    Raises ``RefusedError`` for a forbidden step, or one into the place of another train.
    """
    ground = by_hand_signal(Meaning(plan))
    now = {name: [start_of(place)] for name, place in trains.items()}
    last = ""
    for step in steps:
        name = step["train"]
        if last and last != name:
            now[last] = [Train(t.spot) if t.place in ground.stands else t for t in now[last]]
        last = name
        others = {place for other, each in now.items() if other != name
                  for train in each for place in {train.place, *train.promised}}  # fmt: skip
        asked = {key: value for key, value in step.items() if key != "train"}
        found = [
            act.after
            for train in now[name]
            for act in acts(ground, train)
            if act.step == asked and not ({act.after.place} | act.needs) & others
        ]
        if not found:
            raise RefusedError(f"{name} cannot do {asked}")
        now[name] = list(dict.fromkeys(found))
    return {name: each[0].place for name, each in now.items()}
