"""Two trains on a plan, moved in every way that its signals allow: can they be brought together?

The search looks at every state that two trains can be brought into, breadth first, so that the
movement it finds is a shortest one. It is the definition of "the plan holds" written out, and
knows no better way to the verdict. (Two trains are enough: James and others, Science of Computer
Programming, 2014.)

A train is where it is (its spot) and what it still has promised ahead of it, in order. At its
start it has no heading yet.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from oracle.ground import Ground, Spot, TooLargeError
from oracle.heads import NotJudgedError, Plan

__all__ = [
    "NotJudgedError",
    "ReplayError",
    "TooLargeError",
    "holds",
    "meeting",
    "replay",
    "routes_of",
]

Step = dict[str, Any]
MovementJson = dict[str, Any]
LIMIT = 400_000


class ReplayError(AssertionError):
    """A movement that is shown is not one by which the two trains could be brought together."""


class Train(NamedTuple):
    """Where a train is, and the rest of the route that it was promised."""

    spot: Spot
    ahead: tuple[Spot, ...] = ()

    @property
    def place(self) -> str:
        return self.spot[0]

    @property
    def promised(self) -> frozenset[str]:
        """The places that it keeps from the other train besides the one that it has.

        A place run off and not coming later in the route is given back, so what is promised
        is at any time what the rest of the route runs over. The place that it is in is kept
        from the other by being occupied.
        """
        return frozenset(place for place, _ in self.ahead)


class Act(NamedTuple):
    """What a train may do next, what it is then, and the places that must be free for it."""

    step: Step
    after: Train
    needs: frozenset[str] = frozenset()


def acts(ground: Ground, train: Train) -> Iterable[Act]:
    """All that the train may do, as far as the other train has no say in it."""
    for heading in ground.stands.get(train.place, ()):
        yield Act({"do": "set-off", "heading": heading or None}, Train((train.place, heading)))
    if train.ahead:
        after = Train(train.ahead[0], train.ahead[1:])
        yield Act({"do": "run", "to": after.place}, after)
        return
    for signal, route in ground.routes.get(train.spot, ()):
        over = [place for place, _ in route]
        taken = Train(train.spot, route)
        yield Act({"do": "take", "signal": signal, "over": over}, taken, frozenset(over))
    for way in ground.ways_out.get(train.spot, ()):
        if way.signal is None:
            for move in way.moves:
                yield Act({"do": "run", "to": move.to[0]}, Train(move.to))


def start_of(place: str) -> Train:
    """A train standing in a stand, with no heading yet and nothing promised."""
    return Train((place, ""))


# ---- the search --------------------------------------------------------------------------------


class _Trains:
    """The states that one train can come to, numbered as they are met, with what it may do there.

    For each state: its place, the places it has or was promised (a bit set), the states that it
    may come to whatever the other train has, and those for which a set of places must be free.
    """

    def __init__(self, ground: Ground) -> None:
        self._ground = ground
        self._numbers: dict[Train, int] = {}
        self._bits: dict[str, int] = {}
        self.trains: list[Train] = []
        self.place: list[int] = []
        self.busy: list[int] = []
        self.next: list[tuple[list[int], list[tuple[int, int]]] | None] = []

    def number(self, train: Train) -> int:
        number = self._numbers.get(train)
        if number is None:
            number = self._numbers[train] = len(self.trains)
            self.trains.append(train)
            self.place.append(self._bit(train.place))
            self.busy.append(self._bit(train.place) | self._set(train.promised))
            self.next.append(None)
        return number

    def look_ahead(self, number: int) -> tuple[list[int], list[tuple[int, int]]]:
        plain = []
        takes = []
        for act in acts(self._ground, self.trains[number]):
            after = self.number(act.after)
            if act.needs:
                takes.append((after, self._set(act.needs)))
            elif after != number:
                plain.append(after)
        self.next[number] = plain, takes
        return plain, takes

    def _bit(self, place: str) -> int:
        return self._bits.setdefault(place, 1 << len(self._bits))

    def _set(self, places: Iterable[str]) -> int:
        bits = 0
        for place in places:
            bits |= self._bit(place)
        return bits


def meeting(plan: Plan, limit: int = LIMIT) -> MovementJson | None:
    """A shortest movement by which two trains are brought into one place, None if there is none.

    Raises TooLargeError beyond `limit` states, NotJudgedError for a plan without a verdict.
    """
    ground = Ground(plan)
    trains = _Trains(ground)
    # The two trains are alike, so a state and the same with the trains changed over lead to a
    # meeting in the same number of steps: only the one with the lower number first is kept.
    stands = sorted(trains.number(start_of(place)) for place in ground.stands)
    before: dict[tuple[int, int], tuple[int, int] | None] = {
        (one, other): None for one in stands for other in stands if one < other
    }
    queue = deque(before)
    place, busy = trains.place, trains.busy
    while queue:
        state = queue.popleft()
        for mover, other in (state, state[::-1]):
            plain, takes = trains.next[mover] or trains.look_ahead(mover)
            allowed = plain
            if takes:
                allowed = plain + [after for after, needs in takes if not needs & busy[other]]
            for after in allowed:
                reached = (after, other) if after < other else (other, after)
                if reached in before:
                    continue
                before[reached] = state
                if place[after] == place[other]:
                    return _movement(ground, [trains.trains[n] for n in reached], trains, before)
                queue.append(reached)
        if len(before) > limit:
            raise TooLargeError(f"more than {limit} states")
    return None


def holds(plan: Plan, limit: int = LIMIT) -> bool:
    """Whether no two trains can be brought together on the plan."""
    return meeting(plan, limit) is None


def _movement(
    ground: Ground,
    met: list[Train],
    trains: _Trains,
    before: Mapping[tuple[int, int], tuple[int, int] | None],
) -> MovementJson:
    """The steps that led to a meeting: states back to the start, then forward train by train."""
    one, other = (trains.number(train) for train in met)
    states = [(one, other)]
    earlier = before[one, other]
    while earlier is not None:
        states.append(earlier)
        earlier = before[earlier]
    states.reverse()
    now = {"A": states[0][0], "B": states[0][1]}
    starts = {label: trains.trains[number].place for label, number in now.items()}
    steps = []
    for state in states[1:]:
        # One train stays as it was: the other is what is left of the state once it is put aside.
        for label, stayed in (("A", "B"), ("B", "A")):
            if now[stayed] in state:
                after = state[1] if state[0] == now[stayed] else state[0]
                step = _step_between(ground, trains.trains[now[label]], trains.trains[after])
                if step is not None:
                    steps.append({"train": label, **step})
                    now[label] = after
                    break
    return {"starts": starts, "steps": steps}


def _step_between(ground: Ground, one: Train, after: Train) -> Step | None:
    return next((act.step for act in acts(ground, one) if act.after == after), None)


# ---- replaying a movement ----------------------------------------------------------------------


def replay(plan: Plan, movement: Mapping[str, Any]) -> None:
    """Move two trains as a movement says; raises ReplayError where a step is not allowed.

    Also raises it where the trains do not meet in the last step, or met before. A step names
    places only; where it can be done in several ways (a train leaving a turntable for a track
    that meets it at both ends) each is followed, and one that goes through is enough.
    """
    ground = Ground(plan)
    possible = [_starts(ground, movement)]
    steps = movement.get("steps", [])
    for number, step in enumerate(steps, 1):
        if possible[0]["A"].place == possible[0]["B"].place:
            raise ReplayError(f"before step {number}: the trains have met already")
        label = step.get("train")
        if label not in ("A", "B"):
            raise ReplayError(f"step {number}: there is no train {label!r}")
        possible_now = []
        refusals = []
        for trains in possible:
            done, refusal = _do(ground, trains, label, step)
            possible_now += [each for each in done if each not in possible_now]
            refusals.append(refusal)
        if not possible_now:
            raise ReplayError(f"step {number}, train {label}: {refusals[0]}")
        possible = possible_now
    if possible[0]["A"].place != possible[0]["B"].place:
        raise ReplayError("after the last step the trains have not met")


def _starts(ground: Ground, movement: Mapping[str, Any]) -> dict[str, Train]:
    starts = movement.get("starts", {})
    if sorted(starts) != ["A", "B"]:
        raise ReplayError("the movement does not say where A and B start")
    for label, place in starts.items():
        if place not in ground.stands:
            raise ReplayError(f"{label} can not start in {place}, which is no stand")
    if starts["A"] == starts["B"]:
        raise ReplayError("the trains start in one place")
    return {label: start_of(place) for label, place in starts.items()}


def _do(
    ground: Ground, trains: dict[str, Train], label: str, step: Step
) -> tuple[list[dict[str, Train]], str]:
    """All that can come of one step, and why nothing can where that is so."""
    train = trains[label]
    other = trains["B" if label == "A" else "A"]
    asked = {key: step.get(key) for key in _KEYS.get(step.get("do", ""), ())}
    matching = [act for act in acts(ground, train) if act.step == {"do": step.get("do"), **asked}]
    if not matching:
        return [], _refusal(ground, train, step)
    free = [act for act in matching if not act.needs & ({other.place} | other.promised)]
    if not free:
        occupied = any(other.place in act.needs for act in matching)
        taken = "occupied by" if occupied else "promised to"
        return [], f"a place of the route is {taken} the other train"
    return [{**trains, label: act.after} for act in free], ""


_KEYS = {"set-off": ("heading",), "take": ("signal", "over"), "run": ("to",)}


def _refusal(ground: Ground, train: Train, step: Step) -> str:
    """Why a train can not do what a step asks of it."""
    do = step.get("do")
    if do not in _KEYS:
        return f"there is nothing called {do!r} to do"
    if do == "set-off":
        if train.place not in ground.stands:
            return f"{train.place} is no stand to set off from"
        return f"it can not set off {step.get('heading')} from {train.place}"
    if train.spot not in ground.ways_out:
        return "it has not set off and has no heading yet"
    return _no_route(ground, train, step) if do == "take" else _no_run(ground, train, step)


def _no_route(ground: Ground, train: Train, step: Step) -> str:
    if train.ahead:
        return "it still has promised places ahead"
    if all(way.signal != step.get("signal") for way in ground.ways_out[train.spot]):
        return f"signal {step.get('signal')} does not face it at {train.place}"
    return f"signal {step.get('signal')} has no route over {step.get('over')}"


def _no_run(ground: Ground, train: Train, step: Step) -> str:
    to = step.get("to")
    if train.ahead:
        return f"it must follow its route to {train.ahead[0][0]}, not run to {to}"
    for way in ground.ways_out[train.spot]:
        if any(move.to[0] == to for move in way.moves):
            return f"signal {way.signal} holds it at {train.place}"
    return f"no move leads from {train.place} to {to}"


# ---- routes, for comparing ---------------------------------------------------------------------


def routes_of(plan: Plan) -> dict[str, list[list[str]]]:
    """Signal id -> its routes, each the list of its places; sorted; for every signal that holds.

    Routes over the same places that come into one of them in different ways are all listed, and
    so is a route of stop and of shunt arms alike. A head with nothing beyond it, at a buffer or
    an edge, has no route.
    """
    return Ground(plan).routes_by_signal()
