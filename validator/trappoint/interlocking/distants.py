"""Distants: which stop arms each speaks for beforehand, along the roads that lead on from it.

A distant applies to every stop signal of its box for its line, and may be off only when all of them
are off on the road that is set (and the stop arm above it too). Which those are, ``repeats`` says;
left out, they are the arms of the next stop signal. Sources: Board of Trade requirements 1892,
rules 3 and 7f; present-day descriptions of distant signals in British practice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Arm, Head


MAX_STEPS = 500_000
"""What is gone through for all distants of a plan together."""


MAX_TOLD = 200
"""So far what lies ahead of a distant is told, and no further."""


class Distant(NamedTuple):
    """One distant arm, with what lies ahead of it."""

    arm: Arm
    above: int
    """The stop arm above it on its doll, by number; -1 where it stands alone."""
    first: tuple[int, ...]
    """The stop heads that a train meets first beyond it."""
    repeats: tuple[int, ...]
    """The stop arms that it speaks for, by number."""
    stray: tuple[tuple[int, str], ...]
    """Entries of ``repeats`` (by index) that it cannot speak for, each with the reason."""


class DerivedDistants(NamedTuple):
    """The distants of a plan, and whether the derivation was given up."""

    distants: list[Distant]
    """Every distant arm, in the order of the plan; none where the derivation was given up."""
    cut: bool
    """True if they speak for more than can be gone through."""


def derive_distants(facts: Facts) -> DerivedDistants:
    """Derive every distant arm, with what lies ahead of it."""
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
    """Derive one distant; return it with what that cost, in steps.

    ``met``: the states gone through before, by where they were gone through from.
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
            stray.append((index, f"{name} is no stop arm"))
        elif number != above and number not in reached:
            if all_ahead is None:
                all_ahead = _reached(facts, first, None)
            stray.append((index, _why_not(number in all_ahead, name)))
    spoken = tuple(number for number in named if number in reached)
    steps += len(named) + len(reached) + len(all_ahead or ())
    return Distant(arm, above, first, spoken, tuple(stray)), steps


def _above(facts: Facts, head: Head, arm: Arm) -> int:
    """Return the stop arm that a distant stands with: named by ``under``, or on the same doll."""
    for other in sorted(head.arms_of("stop"), key=lambda other: other.position):
        if other.id == arm.under or (arm.under is None and other.doll == arm.doll):
            return facts.arm_number[other.id]
    return -1


def _stop_arms(facts: Facts, head: int) -> list[int]:
    return facts.stop_arms_at.get(head, [])


def tracks_ahead(facts: Facts, distant: Distant) -> list[str]:
    """Return the tracks over which a train comes that passes a distant, its own track first."""
    network, arm = facts.network, distant.arm
    tracks = {arm.track: None}
    own = facts.head_number.get((arm.signal, arm.track, arm.heading, arm.at_mm), -1)
    if distant.above >= 0 or own >= 0:
        routes = (
            facts.assignment.routes_of[distant.above]
            if distant.above >= 0
            else facts.routes.of_kind(own, shunting=False)
        )
        few = routes[:MAX_TOLD]
        states = [state for route in few for state in facts.routes.all[route].path[:MAX_TOLD]]
    else:
        start = network.section_state(arm.track, arm.heading, arm.at_mm)
        states = states_before_stop(facts, start, MAX_TOLD) if start is not None else []
    for state in states:
        if network.place(state).kind == "section":
            tracks.update(dict.fromkeys(network.tracks_run(state)))
    return list(tracks)


def _first_heads(facts: Facts, head: Head, above: int, met: dict[int, list[int]]) -> Iterator[int]:
    """Yield the stop heads met first: along the roads of the arm above, or of the track."""
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
    """Return the states to which a train comes on from one, as far as it faces a stop signal.

    About so many at most.
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
    """Return the named arms that are met one after another, with none left out on the way.

    Without names: all that lie ahead.
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
        return f"before {name} there is a stop signal that it passes over in silence"
    return f"{name} does not lie ahead of it on any of its roads"


def clear_for(facts: Facts, distant: Distant, off: set[int], lies: dict[int, str]) -> str | None:
    """Tell what keeps a distant on, None if it may be off.

    ``off``: the arms that are off, by number; ``lies``: how every switch lies, by its place.
    """
    arms = facts.assignment.arms
    if distant.above >= 0 and distant.above not in off:
        return f"{arms[distant.above].id} above it is on"
    heads = list(distant.first)
    if distant.above >= 0:
        heads = list(_ends_for(facts, distant.above, lies))
    if not heads:
        return "no stop signal that it speaks for lies ahead on the road that is set"
    for head in heads:
        spoken = [arm for arm in _stop_arms(facts, head) if arm in distant.repeats]
        if not spoken:
            return f"it does not speak for signal {facts.network.heads[head].signal}"
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
