"""Distants: the stop arms that each distant arm repeats, along the roads ahead of it.

A distant may be off only when all the arms that it repeats are off on the road that is set, and the
stop arm above it too. ``repeats`` lists them; without it, the distant repeats the arms of the next
stop signal. Source: Board of Trade requirements, 1892.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Arm, Head


MAX_STEPS = 500_000
"""Most states for all distants of a plan together."""


MAX_AHEAD = 200
"""Most routes, and most states of each route, for the tracks ahead of a distant."""


class Distant(NamedTuple):
    """One distant arm, and the stop arms ahead of it."""

    arm: Arm
    above: int
    """The number of the stop arm above it on its doll; -1 for none."""
    first: tuple[int, ...]
    """The stop heads that a train may meet first beyond it."""
    repeats: tuple[int, ...]
    """The numbers of the stop arms that it repeats."""
    stray: tuple[tuple[int, str], ...]
    """The entries of ``repeats`` that it cannot repeat, as index and reason."""


class DerivedDistants(NamedTuple):
    """The distants of a plan."""

    distants: list[Distant]
    """Every distant arm, in the order of the plan; none if the plan is too large to analyse."""
    cut: bool
    """Whether the plan is too large to analyse."""


def derive_distants(facts: Facts) -> DerivedDistants:
    """Derive every distant arm, with the stop arms ahead of it."""
    found: list[Distant] = []
    met: dict[int, list[int]] = {}
    room = MAX_STEPS
    for signal in facts.layout.signals.values():
        for head in signal.heads:
            for arm in head.arms_of("distant"):
                distant, steps = _derive(facts, head, arm, met)
                found.append(distant)
                room -= steps
                if room < 0:
                    return DerivedDistants([], cut=True)
    return DerivedDistants(found, cut=False)


def _derive(facts: Facts, head: Head, arm: Arm, met: dict[int, list[int]]) -> tuple[Distant, int]:
    """Return one distant, and the number of steps that it took.

    ``met`` has the states ahead of each starting state; it is filled here.
    """
    known = len(met)
    above = _above(facts, head, arm)
    first = tuple(dict.fromkeys(_first_heads(facts, head, above, met)))
    steps = len(first) + (len(met[next(reversed(met))]) if len(met) > known else 0)
    if not arm.repeats:
        ahead = tuple(number for one in first for number in _stop_arms(facts, one))
        return Distant(arm, above, first, ahead, ()), steps + len(ahead)
    numbers = facts.arm_number
    named = [numbers.get(name, -1) for name in arm.repeats]
    reached = _reached(facts, first, set(named))
    all_ahead: set[int] | None = None
    stray: list[tuple[int, str]] = []
    for index, (name, number) in enumerate(zip(arm.repeats, named, strict=True)):
        if number < 0 or facts.assignment.arms[number].kind != "stop":
            stray.append((index, f"{name} is not a stop arm"))
        elif number != above and number not in reached:
            if all_ahead is None:
                all_ahead = _reached(facts, first, None)
            stray.append((index, _why_not(number in all_ahead, name)))
    spoken = tuple(number for number in named if number in reached)
    steps += len(named) + len(reached) + len(all_ahead or ())
    return Distant(arm, above, first, spoken, tuple(stray)), steps


def _above(facts: Facts, head: Head, arm: Arm) -> int:
    """Return the stop arm above a distant: named by ``under``, or on the same doll; else -1."""
    for other in sorted(head.arms_of("stop"), key=lambda other: other.position):
        if other.id == arm.under or (arm.under is None and other.doll == arm.doll):
            return facts.arm_number[other.id]
    return -1


def _stop_arms(facts: Facts, head: int) -> list[int]:
    return facts.stop_arms_at.get(head, [])


def tracks_ahead(facts: Facts, distant: Distant) -> list[str]:
    """Return the tracks that a train passes from a distant to the next stop signals."""
    network, arm = facts.network, distant.arm
    tracks = {arm.track: None}
    own = facts.head_number.get((arm.signal, arm.track, arm.heading, arm.at_mm), -1)
    if distant.above >= 0 or own >= 0:
        routes = (
            facts.assignment.routes_of[distant.above]
            if distant.above >= 0
            else facts.routes.of_kind(own, shunting=False)
        )
        few = routes[:MAX_AHEAD]
        states = [state for route in few for state in facts.routes.all[route].path[:MAX_AHEAD]]
    else:
        start = network.section_state(arm.track, arm.heading, arm.at_mm)
        states = states_before_stop(facts, start, MAX_AHEAD) if start is not None else []
    for state in states:
        if network.place(state).kind == "section":
            tracks.update(dict.fromkeys(network.tracks_run(state)))
    return list(tracks)


def _first_heads(facts: Facts, head: Head, above: int, met: dict[int, list[int]]) -> Iterator[int]:
    """Yield the next stop heads, along the routes of the arm above or of the track."""
    if above >= 0:
        yield from _ends(facts, above)
        return
    own = facts.head_number.get((head.signal, head.track, head.heading, head.at_mm), -1)
    if own >= 0:
        for route in facts.routes.of_kind(own, shunting=False):
            facing = facts.network.facing[facts.routes.all[route].path[-1]]
            if facing >= 0:
                yield facing
        return
    yield from _ahead_of_track(facts, head, met)


def _ends(facts: Facts, arm: int) -> Iterator[int]:
    """Yield the stop heads at which the routes of an arm end."""
    for route in facts.assignment.routes_of[arm]:
        facing = facts.network.facing[facts.routes.all[route].path[-1]]
        if facing >= 0:
            yield facing


def _ahead_of_track(facts: Facts, head: Head, met: dict[int, list[int]]) -> Iterator[int]:
    network = facts.network
    start = network.section_state(head.track, head.heading, head.at_mm)
    if start is None:
        return
    if start not in met:
        met[start] = states_before_stop(facts, start)
    for state in met[start]:
        facing = network.facing[state]
        if facing >= 0 and network.heads[facing].stops:
            yield facing


def states_before_stop(facts: Facts, start: int, most: int = MAX_STEPS) -> list[int]:
    """Return the states that a train may reach from ``start`` before it passes a stop signal.

    ``most`` is about the number at which the search ends.
    """
    network = facts.network
    queue = {start: None}
    states = [start]
    for state in states:
        facing = network.facing[state]
        if (facing >= 0 and network.heads[facing].stops) or len(states) > most:
            continue
        for exit_ in network.exits[state]:
            if exit_.to not in queue:
                queue[exit_.to] = None
                states.append(exit_.to)
    return states


def _reached(facts: Facts, first: tuple[int, ...], named: set[int] | None) -> set[int]:
    """Return the ``named`` arms that a train meets before any other stop signal.

    If ``named`` is None, return all stop arms ahead.
    """
    reached: set[int] = set()
    queue = list(first)
    seen = set(queue)
    for head in queue:
        for arm in _stop_arms(facts, head):
            if named is None or arm in named:
                reached.add(arm)
                for onward in _ends(facts, arm):
                    if onward not in seen:
                        seen.add(onward)
                        queue.append(onward)
    return reached


def _why_not(ahead: bool, name: str) -> str:
    if ahead:
        return f"there is a stop signal before {name} whose arms it does not repeat"
    return f"{name} is not ahead of it on any road"


def clear_for(facts: Facts, distant: Distant, off: set[int], lies: dict[int, str]) -> str | None:
    """Return why a distant must stay on, in words; None if it may be off.

    ``off`` has the numbers of the arms that are off, ``lies`` the lie of every switch, with its
    place as key.
    """
    arms = facts.assignment.arms
    if distant.above >= 0 and distant.above not in off:
        return f"{arms[distant.above].id} above it is on"
    heads = list(distant.first)
    if distant.above >= 0:
        heads = list(_ends_for(facts, distant.above, lies))
    if not heads:
        return "no stop signal that it repeats is ahead on the road that is set"
    for head in heads:
        spoken = [arm for arm in _stop_arms(facts, head) if arm in distant.repeats]
        if not spoken:
            return f"it does not repeat signal {facts.network.heads[head].signal}"
        keeps = _chain(facts, distant, spoken, off, lies)
        if keeps is not None:
            return keeps
    return None


def _chain(
    facts: Facts, distant: Distant, spoken: list[int], off: set[int], lies: dict[int, str]
) -> str | None:
    arms = facts.assignment.arms
    done: set[int] = set()
    while spoken:
        clear = next((arm for arm in spoken if arm in off), None)
        if clear is None:
            verb = "is" if len(spoken) == 1 else "are"
            return f"{' and '.join(arms[arm].id for arm in spoken)} ahead of it {verb} on"
        done.add(clear)
        ahead = list(_ends_for(facts, clear, lies))
        spoken = [
            arm
            for head in ahead
            for arm in _stop_arms(facts, head)
            if arm in distant.repeats and arm not in done
        ]
    return None


def _ends_for(facts: Facts, arm: int, lies: dict[int, str]) -> Iterator[int]:
    for number in facts.assignment.routes_of[arm]:
        route = facts.routes.all[number]
        facing = facts.network.facing[route.path[-1]]
        if facing >= 0 and all(lies.get(place) == lie for place, lie in route.lies.items()):
            yield facing
