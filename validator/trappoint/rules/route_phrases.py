"""Roads in words: where they lead, what they lead over, what bars them."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING

from trappoint.core.quoting import listed
from trappoint.interlocking.locking_table import describe_route, starting_from

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.facts.facts import Facts

MAX_ROADS = 4
"""Longer lists of roads are cut in a sentence."""

MAX_NAMES = 12
"""Longer lists of tracks and elements are cut in a sentence."""

MAX_IN_PATH = 60
"""So many names of what lies on the way are kept with one finding."""

MAX_STATES = 2_000
"""So far a way is followed that comes to no end."""


def some_names(names: Iterable[str]) -> list[str]:
    """Return names without those that come again, no more than are kept with a finding."""
    return list(islice(dict.fromkeys(islice(names, MAX_STATES)), MAX_IN_PATH))


def tell_names(names: list[str], word: str = "and") -> str:
    """Put names into a sentence, a long list cut."""
    more = f" {word} more" if len(names) > MAX_NAMES else ""
    return f"{listed(names[:MAX_NAMES], word)}{more}"


def tell_roads(facts: Facts, routes: Iterable[int]) -> str:
    """Put routes into a sentence, a long list cut."""
    told = [road(facts, route) for route in islice(routes, MAX_ROADS + 1)]
    more = " and more" if len(told) > MAX_ROADS else ""
    return f"{listed(told[:MAX_ROADS], 'and')}{more}"


def tracks_over(facts: Facts, routes: Iterable[int]) -> list[str]:
    """Return the tracks that routes run over, as many as are kept with a finding."""
    few = islice(routes, MAX_IN_PATH)
    return some_names(track for route in few for track in describe_route(facts, route).over)


def road(facts: Facts, route: int) -> str:
    """Tell a route in words: from where, over what, to where."""
    entry = describe_route(facts, route)
    tracks = list(entry.over)
    if len(tracks) > 1 and tracks[0] == entry.start:
        del tracks[0]
    goal = goal_of(facts, route)
    if entry.ends_at not in facts.layout.yards and tracks:
        tracks.pop()
    way = f" over {listed(tracks, 'and')}" if tracks else ""
    return f"from {starting_from(facts, entry)}{way} to {goal}"


def goal_of(facts: Facts, route: int) -> str:
    """Name the track or the yard to which a route leads."""
    entry = describe_route(facts, route)
    if entry.ends_at in facts.layout.yards:
        return f"yard {entry.ends_at}"
    return entry.over[-1] if entry.over else entry.ends_at


def elements_met(facts: Facts, routes: list[int]) -> list[str]:
    """Return the points, crossings and turntables that some routes run over, as they are met."""
    places = (facts.network.place(s) for route in routes for s in facts.routes.all[route].path)
    return some_names(p.id for p in places if p.kind not in ("section", "yards"))


def barred_beyond(facts: Facts, head: int) -> list[str]:
    """Return the tracks on which, by their ``running``, trains may not run on from a head."""
    network = facts.network
    states = dict.fromkeys([network.held_at[head], *(e.to for e in network.starts(head))])
    queue = [state for state in states if state >= 0]
    for state in queue:
        if len(queue) > MAX_STATES:
            break
        facing = network.facing[state]
        ends = facing >= 0 and network.heads[facing].stops
        for exit_ in () if ends else network.exits[state]:
            if exit_.to not in states:
                states[exit_.to] = None
                queue.append(exit_.to)
    return some_names(track for state in queue for track in network.barred.get(state, ()))


def tell_barred(barred: list[str]) -> str:
    """Tell on which tracks trains may not run on; an empty text where there are none."""
    told = tell_names(barred, "or")
    return f" Beyond it, trains may not run that way on {told}." if barred else ""


def tell_clash(facts: Facts, head: int) -> str:
    """Say which points worked together keep a signal from a route; empty if none do."""
    clash = facts.first_clash.get(head)
    if clash is None:
        return ""
    first, second = (facts.network.places[p].id for p in (clash.first, clash.second))
    return (
        f" It would need {first} {clash.lies[0]} and {second} {clash.lies[1]}, but these "
        "are worked together."
    )
