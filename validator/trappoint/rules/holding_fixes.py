"""Fixes for an exit at which no signal holds a train."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed
from trappoint.rules.loops import (
    follow_ways,
    round_in_words,
    site_in_words,
    sites_in,
    sites_in_words,
)
from trappoint.rules.route_phrases import place_called, road
from trappoint.rules.yard_ends import (
    elements_out_of_yard,
    is_between,
    lies_within,
    ways_out_of_yard,
)
from trappoint.topology.network import Exit
from trappoint.verdict.guards import unguarded

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Heading, Yard
    from trappoint.verdict.verdict import Failure


def fix_of(facts: Facts, failure: Failure, opened: dict[int, tuple[int, int]]) -> str:
    """Return where to put a stop signal, and why trap points on the way do not hold the train."""
    network, start = facts.network, failure.run.start
    trapped = _opened_on_way(facts, failure, opened)
    if network.place(start).kind == "yards":
        return f"{' '.join(_fixes_at_yard(facts, failure))}{trapped}"
    loop = _loop_beyond(facts, network.exits[start], start)
    return f"Put a stop signal {site_in_words(network, start)}{loop}.{trapped}"


def _fixes_at_yard(facts: Facts, failure: Failure) -> Iterator[str]:
    """Yield a fix for each way out of a yard that no signal closes, as a sentence."""
    network, start = facts.network, failure.run.start
    yard = facts.layout.yards[network.place(start).id]
    onward = dict.fromkeys(exit_.to for exit_ in network.exits[start] if exit_.head < 0)
    states = [state for state in onward if failure.run.came_from.get(state) == start]
    unclosed = [each for state in states for each in elements_out_of_yard(facts, yard, state)]
    # Once these belong to the yard, the tracks that lead to them are no longer ways out.
    between = {track for _, track, _ in unclosed if is_between(facts, yard, track)}
    signals: list[str] = []
    belonging: dict[str, None] = {}
    for state in states:
        place, number = network.place(state), network.place_of[state]
        if between.intersection(network.tracks_of(number)):
            continue
        loop = _loop_beyond(facts, [Exit(state)])
        ends = list(ways_out_of_yard(facts, yard, state))
        signals += [f"for {way} trains on {track}, at its {way} end{loop}" for track, way in ends]
        if ends and lies_within(facts, yard, place):
            belonging[place.id] = None
    if signals:
        or_listed = "".join(
            f"; or, if {name} belongs to yard {yard.id}, list it there" for name in belonging
        )
        yield f"Put a stop signal {', and one '.join(signals)}{or_listed}."
    for element, track, way in {each[1]: each for each in unclosed}.values():
        yield _list_too(yard, element, track, way, inside=track in between)


def _list_too(yard: Yard, element: str, track: str, way: Heading, *, inside: bool) -> str:
    """Return the fix for a track that no signal can separate from a yard."""
    if inside:
        return f"List {track} in yard {yard.id}: no signal can stand between it and {element}."
    return (
        f"List {track} in yard {yard.id} (or divide it at a joint and list the part at {element}), "
        f"and put a stop signal for {way} trains at its far end: no signal can stand between "
        f"{track} and {element}."
    )


def _loop_beyond(facts: Facts, exits: Iterable[Exit], *own: int) -> str:
    """Return where else a signal is needed, so that a signal before these exits has a route."""
    held = frozenset(own)
    ways = follow_ways(facts, exits, held)
    sites = {} if ways.leads_on else sites_in(facts, ways.loops, held)
    if not sites:
        return ""
    round_ = round_in_words(facts, ways.loops)
    return (
        f", and one {sites_in_words(facts.network, sites.values())}: all ways beyond lead {round_}"
    )


def opened_traps(facts: Facts) -> dict[int, tuple[int, int]]:
    """Return for each trap group that does not guard a place before it, and a route that opens it.

    A train may be in that place while the route needs the group reversed.
    """
    found: dict[int, tuple[int, int]] = {}
    guards = dict(facts.together.traps)
    while len(guards) > len(facts.free_moves.guards):
        failing = list(unguarded(facts.network, facts.together, facts.routes, guards))
        found |= {lever: (place, route) for lever, place, route in failing if lever not in found}
        guards = {lever: word for lever, word in guards.items() if lever not in found}
        if not failing:
            break
    return found


def _opened_on_way(facts: Facts, failure: Failure, opened: dict[int, tuple[int, int]]) -> str:
    """Return why trap points do not hold a train; empty if there are none on its way."""
    network, together = facts.network, facts.together
    for place in (failure.place, *failure.run.reached):
        lever = together.lever_of.get(place, -1)
        if lever in opened:
            names = [network.places[each].id for each in together.members[lever]]
            traps = [name for name in names if name in facts.layout.points]
            traps = [name for name in traps if facts.layout.points[name].trap]
            before, route = opened[lever]
            return (
                f" (Trap points {listed(traps, 'and')} do not hold this train: the route "
                f"{road(facts, route)} needs them reverse while a train may be in "
                f"{place_called(facts, network.places[before])}.)"
            )
    return ""
