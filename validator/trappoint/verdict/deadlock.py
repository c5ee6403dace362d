"""Standstills: two trains held face to face, each in the only way of the other.

A pair of signals counts only if a movement brings both trains to them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.facts.facts import Facts
    from trappoint.verdict.approach import Approaches
    from trappoint.verdict.movements import Step

MAX_STARTS = 20
"""The most stands tried for the second train."""


MAX_STEPS = 50_000
"""The most steps of the searches for all pairs of signals together."""


class Standstill(NamedTuple):
    """Two heads at which trains wait for each other for ever."""

    heads: tuple[int, int]
    starts: tuple[str | None, str | None]
    """The stands of train A and train B at first, None for a train outside the plan."""
    steps: tuple[Step, ...]
    """The steps by which they reach their signals."""


def find_standstills(facts: Facts) -> Iterator[Standstill]:
    """Yield each standstill of two trains, in the order of the heads."""
    pairs = list(_face_to_face(facts))
    if not pairs:
        return
    from trappoint.core.errors import TooMany
    from trappoint.verdict.approach import Approaches

    approaches = Approaches(facts.free_moves, facts.routes, MAX_STEPS)
    for one, other in pairs:
        try:
            found = _brought(facts, approaches, one, other)
            found = found or _brought(facts, approaches, other, one)
        except TooMany:
            return  # This is advice only: a large plan may have more standstills.
        if found is not None:
            yield found


def _face_to_face(facts: Facts) -> Iterator[tuple[int, int]]:
    """Yield each pair of heads at which two trains would wait for each other for ever."""
    routes = facts.routes
    at_place: dict[int, list[int]] = {}
    needed: list[frozenset[int]] = []
    for head, own in enumerate(routes.of_head):
        place = _place(facts, head)
        if place >= 0:
            at_place.setdefault(place, []).append(head)
        sets = [routes.all[number].places for number in own]
        needed.append(frozenset.intersection(*sets) if sets else frozenset())
    for one, places in enumerate(needed):
        for other in sorted(n for place in places for n in at_place.get(place, ()) if n > one):
            if _place(facts, one) not in needed[other] or _place(facts, one) < 0:
                continue
            if not (_way_out(facts, one, other) or _way_out(facts, other, one)):
                yield one, other


def _place(facts: Facts, head: int) -> int:
    state = facts.network.held_at[head]
    return facts.network.place_of[state] if state >= 0 else -1


def _way_out(facts: Facts, head: int, other: int) -> bool:
    """Return whether a train held at a head can set off another way, or leave the plan."""
    network, routes = facts.network, facts.routes
    place, blocked = _place(facts, head), _place(facts, other)
    if place >= 0 and network.places[place].elsewhere:
        return True  # Beyond an edge, it can go back.
    stand = network.stand_at.get(place)
    if stand is None:
        return False
    if any(network.leaves[state] for state in network.stands[stand].states):
        return True
    for state in network.stands[stand].states:
        if state == network.held_at[head] and network.places[place].kind == "section":
            continue
        for exit_ in network.exits[state]:
            if exit_.head < 0:
                return True
            if any(blocked not in routes.all[r].places for r in routes.of_head[exit_.head]):
                return True
    return False


def _brought(facts: Facts, approaches: Approaches, one: int, other: int) -> Standstill | None:
    """Return the standstill with A brought to its signal first, then B; None if it fails."""
    from trappoint.verdict.movement_recorder import Script

    network = facts.network
    first, second = network.held_at[one], network.held_at[other]
    place = network.place_of[first]
    tries = approaches.find_all(second, place, (place,))
    for _, comes in zip(range(MAX_STARTS), tries, strict=False):
        goes = approaches.find(first, comes.start, (comes.start,))
        if goes is None:
            continue
        script = Script(network, goes.start, comes.start)
        goes.play(script, "A", facts.routes)
        comes.play(script, "B", facts.routes)
        if not script.met:
            return Standstill((one, other), script.starts, tuple(script.steps))
    return None
