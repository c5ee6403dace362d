"""Loops that lead back to their own points, and the stop signals that they need.

A train that runs round a loop comes back to the points by the other leg. The points cannot lie
both ways, so no route leads all the way round: it must end at a stop signal inside the loop.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import listed
from trappoint.model.layout import cut_at, opposite

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.facts.facts import Facts
    from trappoint.topology.network import Exit, Network

MAX_STEPS = 2_000
"""The most moves followed beyond one signal."""

MAX_STEPS_IN_ALL = 20_000
"""The most moves followed beyond all signals of a plan, to advise on unreachable tracks."""

MAX_TRIES = 8
"""The most sites for a signal tried in one loop."""


class Advice(NamedTuple):
    """Advice on a signal beyond which all ways lead back to themselves."""

    round: str
    """The way round in words: its tracks and the element at which it ends."""
    fix: str
    tracks: tuple[str, ...]
    """The tracks on which the loop may have its signal."""


class Loop(NamedTuple):
    """A way that leads back to a place on it."""

    path: tuple[int, ...]
    """The states on the way round, in order."""
    back_at: int
    """The place to which it leads back."""


class WaysBeyond(NamedTuple):
    """The ways beyond a signal."""

    leads_on: bool
    """True if a way ends at a signal, at the end of the track, at a limit or in a yard."""
    loops: tuple[Loop, ...]
    steps: int
    """The number of moves followed."""


def follow_ways(
    facts: Facts, exits: Iterable[Exit], held: frozenset[int], *, shunting: bool = False
) -> WaysBeyond:
    """Follow every way from some exits as far as a route may end or cannot go on.

    ``held``: states that count as held by a stop signal, even without one.
    """
    together, exits_of = facts.together, facts.network.exits
    loops: list[Loop] = []
    leads_on = False
    steps = 0
    waiting: list[tuple[Exit, tuple[int, ...], dict[int, str]]] = [(e, (), {}) for e in exits]
    waiting.reverse()
    while waiting and steps < MAX_STEPS:
        steps += 1
        exit_, path, lies = waiting.pop()
        if lies.get(exit_.element, exit_.lie) != exit_.lie or exit_.to in path:
            at = exit_.element if exit_.element in lies else facts.network.place_of[exit_.to]
            loops.append(Loop(path, at))
            continue
        if exit_.element >= 0:
            lever = together.lever_of[exit_.element]
            word = together.word(exit_.element, exit_.lie)
            same = [place for place in together.members[lever] if place in lies]
            if any(together.word(place, lies[place]) != word for place in same):
                continue
            lies = {**lies, exit_.element: exit_.lie}
        if exit_.to in held or _ends_route(facts.network, exit_.to, shunting):
            leads_on = True
            continue
        waiting += [(onward, (*path, exit_.to), lies) for onward in reversed(exits_of[exit_.to])]
    # Beyond the limit of moves, the signal counts as good.
    return WaysBeyond(leads_on or bool(waiting), tuple(loops), steps)


def _ends_route(network: Network, state: int, shunting: bool) -> bool:
    facing = network.facing[state]
    if facing >= 0 and (shunting or network.heads[facing].stops):
        return True
    return network.terminal[state] or network.limit[state] or network.place(state).kind == "yards"


def sites_in(facts: Facts, loops: Iterable[Loop], held: frozenset[int]) -> dict[Loop, int]:
    """Return for each loop the state in which a new stop signal would hold trains.

    The new signal would have a route. Loops without such a site are left out.
    """
    found: dict[Loop, int] = {}
    tracks = [(loop, tuple(_sections(facts.network, loop))) for loop in loops]
    count = Counter(state for _, states in tracks for state in states)
    known: dict[int, bool] = {}
    for loop, states in tracks:
        ranked = sorted(
            enumerate(states),
            key=lambda each: (
                count[each[1]],
                facts.network.place_of[each[1]] in facts.network.stand_at,
                each[0],
            ),
            reverse=True,
        )
        for _, state in ranked[:MAX_TRIES]:
            if state not in known:
                beyond = follow_ways(facts, facts.network.exits[state], held | {state})
                known[state] = beyond.leads_on
            if known[state]:
                found[loop] = state
                break
    return found


def _sections(network: Network, loop: Loop) -> Iterator[int]:
    """Yield the states on the way round in which a new stop signal could hold trains.

    A signal with only shunt arms may be there already: it can get a stop arm.
    """
    for state in loop.path:
        facing = network.facing[state]
        held = facing >= 0 and network.heads[facing].stops
        if network.place(state).kind == "section" and not held:
            yield state


def site_in_words(network: Network, state: int) -> str:
    """Return the site of a signal that holds trains in a state of a section, in words."""
    piece, way = network.last_piece(state)
    cuts = network.cuts[piece.track]
    last = len(cuts) if way == "down" else 0
    where = f"its {way} end"
    if piece.part != last:
        where = f"{cuts[piece.part if way == 'down' else piece.part - 1]:.12g} mm"
    return f"for {way} trains on {piece.track}, at {where}"


def sites_in_words(network: Network, sites: Iterable[int]) -> str:
    """Return alternative sites of a signal, in words."""
    return ", or ".join(site_in_words(network, state) for state in dict.fromkeys(sites))


def round_in_words(facts: Facts, loops: tuple[Loop, ...]) -> str:
    """Return the way round the first of some loops in words: its tracks, and where it ends."""
    network, first = facts.network, loops[0]
    tracks = [track for state in first.path for track in network.tracks_run(state)]
    over = f" over {listed(list(dict.fromkeys(tracks)), 'and')}" if tracks else ""
    return f"round{over} and back to {network.places[first.back_at].id}"


def advise_beyond(facts: Facts, head: int) -> Advice | None:
    """Return how a signal without a route gets one, None if the cause is no loop."""
    network = facts.network
    held = frozenset((network.held_at[head],))
    ways = follow_ways(facts, network.starts(head), held, shunting=not network.heads[head].stops)
    sites = {} if ways.leads_on else sites_in(facts, ways.loops, held)
    if not sites:
        return None
    return Advice(
        round_in_words(facts, ways.loops),
        _fix(network, sites.values()),
        tuple(dict.fromkeys(network.last_piece(site)[0].track for site in sites.values())),
    )


def advise_for_unreached(facts: Facts, reached: set[int]) -> dict[int, str]:
    """Return for each place that no route reaches the fix that would make it reachable."""
    network = facts.network
    known = {network.place_of[state] for state in reached}
    found: dict[int, dict[int, None]] = {}
    heads = [head for head, state in enumerate(network.held_at) if state in reached]
    steps = 0
    for head in sorted(heads, key=lambda head: len(facts.routes.of_head[head])):
        held = frozenset((network.held_at[head],))
        ways = follow_ways(
            facts, network.starts(head), held, shunting=not network.heads[head].stops
        )
        loops = [
            loop
            for loop in ways.loops
            if not known.issuperset(network.place_of[state] for state in loop.path)
        ]
        for loop, site in sites_in(facts, loops, held).items():
            for state in loop.path:
                found.setdefault(network.place_of[state], {})[site] = None
        steps += ways.steps
        if steps > MAX_STEPS_IN_ALL:
            break
    return {place: _fix(network, sites) for place, sites in found.items()}


def _fix(network: Network, sites: Iterable[int]) -> str:
    return f"Put a stop signal in the loop: {sites_in_words(network, sites)}."


def serves_turned(facts: Facts, head: int) -> bool:
    """Return whether a signal would have a route if it faced the other way."""
    network, described = facts.network, facts.network.heads[head]
    track, turned = facts.layout.tracks[described.track], opposite(described.heading)
    along = cut_at(described, track) >= 0
    if described.at_mm is not None and not along:
        return False  # at_mm puts it at the very end from which its trains would come.
    at_mm = described.at_mm if along else None
    state = network.section_state(track.id, turned, at_mm)
    if state is None or network.facing[state] >= 0 or not track.allows(turned):
        return False
    held = frozenset((state,))
    exits = network.exits[state]
    return follow_ways(facts, exits, held, shunting=not described.stops).leads_on
