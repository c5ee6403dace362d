"""Two trains on a plan: the search for a meeting, and the replay of a given movement."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from oracle.conflicts import RouteName, conflicts_of
from oracle.game import OFF_THE_LINE, OUTSIDE, Act, Train, acts, claims, start_of, steps_of
from oracle.ground import Ground, TooLargeError
from oracle.heads import NotJudgedError, Plan
from oracle.pairs import meeting_of_two
from oracle.search import MovementJson

__all__ = [
    "Act",
    "NotJudgedError",
    "ReplayError",
    "RouteName",
    "TooLargeError",
    "Train",
    "acts",
    "conflicts_of",
    "holds",
    "meeting",
    "replay",
    "routes_of",
    "stands_of",
    "start_of",
]

LIMIT = 400_000
KEYS = {
    "come-on": ("edge", "to"),
    "leave": (),
    "set-off": ("heading",),
    "take": ("signal", "over"),
    "run": ("to",),
}

Trains = dict[str, Train]
Step = Mapping[str, Any]


class ReplayError(AssertionError):
    """A movement breaks a rule of the game, or does not end in a meeting."""


def meeting(plan: Plan, limit: int = LIMIT) -> MovementJson | None:
    """A shortest movement by which two trains are brought into one place, None if there is none.

    Raises TooLargeError beyond `limit` states, NotJudgedError for a plan without a verdict.
    """
    return meeting_of_two(Ground(plan), limit)


def holds(plan: Plan, limit: int = LIMIT) -> bool:
    """Whether no two trains can be brought together on the plan."""
    return meeting(plan, limit) is None


def routes_of(plan: Plan) -> dict[str, list[list[str]]]:
    """Signal id -> its routes, each the list of its places; sorted; for every head that holds.

    Routes over the same places that come into one of them in different ways are all listed, and
    so is a route of stop and of shunt arms alike. A head with nothing beyond it, at a buffer or
    an edge, has no route.
    """
    return Ground(plan).routes_by_signal()


def stands_of(plan: Plan) -> list[str]:
    """The places of a plan that are stands, sorted."""
    return sorted(Ground(plan).stands)


# ---- replaying a movement ----------------------------------------------------------------------


def replay(plan: Plan, movement: Mapping[str, Any], labels: str = "AB") -> None:
    """Replay a movement of two trains. Raises ReplayError if a step is not allowed.

    Also raises it if the trains do not meet in the last step, or meet earlier. A step names places
    only. If a train can do it in several ways (run onto points for either leg), the replay follows
    all of them, and one that succeeds is enough; all ways lead to the same place.
    """
    ground = Ground(plan)
    possible = [_starts(ground, movement, labels)]
    for number, step in enumerate(movement.get("steps", []), 1):
        if _met(possible[0]):
            raise ReplayError(f"before step {number}: the trains have met already")
        label = step.get("train")
        if label not in tuple(labels):
            raise ReplayError(f"step {number}: there is no train {label!r}")
        possible_now: list[Trains] = []
        refusals = []
        for trains in possible:
            done, refusal = _do(ground, trains, label, step)
            possible_now += [each for each in done if each not in possible_now]
            refusals.append(refusal)
        if not possible_now:
            raise ReplayError(f"step {number}, train {label}: {refusals[0]}")
        possible = possible_now
    if not _met(possible[0]):
        raise ReplayError("after the last step the trains have not met")


def _met(trains: Trains) -> bool:
    places = [train.place for train in trains.values() if train.place != ""]
    return len(places) > len(set(places))


def _starts(ground: Ground, movement: Mapping[str, Any], labels: str) -> Trains:
    starts = movement.get("starts", {})
    if sorted(starts) != list(labels):
        raise ReplayError(f"the movement does not say where {' and '.join(labels)} start")
    for label, place in starts.items():
        if place is not None and place not in ground.stands:
            raise ReplayError(f"{label} cannot start in {place}, which is no stand")
    trains = {label: start_of(place) for label, place in starts.items()}
    if _met(trains):
        raise ReplayError("the trains start in one place")
    return trains


def _do(ground: Ground, trains: Trains, label: str, step: Step) -> tuple[list[Trains], str]:
    """Return all ways to do one step; if there are none, also the reason."""
    train = trains[label]
    others = [claims(ground, other) for name, other in trains.items() if name != label]
    theirs = frozenset().union(*others)
    asked = {"do": step.get("do")}
    asked |= {key: step.get(key) for key in KEYS.get(step.get("do", ""), ())}
    matching = [act for act in steps_of(ground, train) if act.step == asked]
    if not matching:
        return [], _refusal(ground, train, step)
    done = [{**trains, label: act.after} for act in matching if act.allowed(theirs)]
    return done, "" if done else _excluded(matching[0], theirs, trains, label)


def _excluded(act: Act, theirs: frozenset[Any], trains: Trains, label: str) -> str:
    """Why other trains exclude what a train would do."""
    for place in sorted(act.needs):
        if ("place", place) in act.barred & theirs:
            others = [train for name, train in trains.items() if name != label]
            occupied = any(other.place == place for other in others)
            return f"{place} is {'occupied by' if occupied else 'promised to'} the other train"
    lies = sorted(claim[1] for claim in act.barred & theirs if claim[0] == "lie")
    if lies:
        return f"the other train needs {lies[0]} otherwise"
    return "the route conflicts with the route of the other train"


def _refusal(ground: Ground, train: Train, step: Step) -> str:
    """Return the reason why a train can never do a step."""
    do = step.get("do")
    if do not in KEYS:
        return f"there is nothing called {do!r} to do"
    if train.place == "" or do == "come-on":
        return _no_coming_on(train, step)
    if do == "set-off":
        if train.place not in ground.stands:
            return f"{train.place} is no stand to set off from"
        return f"it cannot set off {step.get('heading')} from {train.place}"
    if train.spot not in ground.ways_out:
        return "it has not set off and has no heading yet"
    of_do = {"leave": _no_leaving, "take": _no_route, "run": _no_run}
    return of_do[do](ground, train, step)


def _no_coming_on(train: Train, step: Step) -> str:
    if train == OFF_THE_LINE:
        return "it is off the line"
    if step.get("do") != "come-on":
        return "it is outside"
    if train != OUTSIDE:
        return "it is on the plan already"
    return f"no train comes on at {step.get('edge')} to {step.get('to')}"


def _no_leaving(ground: Ground, train: Train, step: Step) -> str:
    return f"it cannot leave the plan from {train.place}"


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
        if way.head is not None and any(move.to[0] == to for move in way.moves):
            return f"signal {way.signal} holds it at {train.place}"
        if to in ground.group_of and any(move.to[0] == to for move in way.moves):
            return "the trap points lie normal"
    return f"no move leads from {train.place} to {to}"
