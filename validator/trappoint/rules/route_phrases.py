"""Phrases of messages: things by their names, and routes."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING

from trappoint.core.quoting import listed
from trappoint.interlocking.locking_table import describe_route

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.facts.facts import Facts
    from trappoint.topology.network import Place

MAX_ROADS = 4
"""The most routes that a sentence lists."""

MAX_NAMES = 12
"""The most tracks or elements that a sentence lists."""

MAX_IN_PATH = 60
"""The most ids in the path of a finding."""

MAX_STATES = 2_000
"""The most states followed along a way without an end."""


def thing(facts: Facts, kind: str, key: str, word: str = "") -> str:
    """Return the name of a thing with its id, or a noun and the id: ``signal 2``.

    The noun is ``word``, by default that of the kind.
    """
    return facts.names.thing(kind, key, word)


def of_signal(facts: Facts, signal: str) -> str:
    """Return `` of Down homes (3)`` after the ids of arms, empty if the signal has no name."""
    called = facts.names.called("signals", signal)
    return f" of {called}" if called != signal else ""


def at_start(text: str) -> str:
    """Return a text with its first letter a capital, to begin a sentence."""
    return text[:1].upper() + text[1:]


def sees_to_it(facts: Facts) -> str:
    """Return a sentence that says who enforces the locking: the levers, or the operator."""
    if facts.layout.levers:
        return "The locking sees to it."
    return "You must see to it: the layout has no levers."


def place_called(facts: Facts, place: Place) -> str:
    """Return the name of a place with its id, the id alone if it has no name."""
    kind = "tracks" if place.kind == "section" else place.kind
    name = facts.names.name(kind, place.id)
    if name and name.casefold() != place.id.casefold():
        return f"{name} ({place.name})"
    return f"yard {place.name}" if place.kind == "yards" else place.name


def places_called(facts: Facts, names: Iterable[str]) -> dict[str, str]:
    """Return what to call each place of these names."""
    return {name: place_called(facts, facts.place_named[name]) for name in names}


def some_names(names: Iterable[str]) -> list[str]:
    """Return the distinct names, at most as many as the path of a finding may have."""
    return list(islice(dict.fromkeys(islice(names, MAX_STATES)), MAX_IN_PATH))


def names_in_words(names: list[str], word: str = "and") -> str:
    """Return names as a list in a sentence, cut if it is long."""
    more = f" {word} more" if len(names) > MAX_NAMES else ""
    return f"{listed(names[:MAX_NAMES], word)}{more}"


def routes_in_words(facts: Facts, routes: Iterable[int]) -> str:
    """Return routes as a list in a sentence, cut if it is long."""
    few = [road(facts, route) for route in islice(routes, MAX_ROADS + 1)]
    more = " and more" if len(few) > MAX_ROADS else ""
    return f"{listed(few[:MAX_ROADS], 'and')}{more}"


def tracks_over(facts: Facts, routes: Iterable[int]) -> list[str]:
    """Return the tracks of some routes, at most as many as the path of a finding may have."""
    few = islice(routes, MAX_IN_PATH)
    return some_names(track for route in few for track in describe_route(facts, route).over)


def road(facts: Facts, route: int) -> str:
    """Return a route in words: ``from loop-west over loop-east to quarry-line``."""
    entry = describe_route(facts, route)
    yard = facts.yard_of_track.get(entry.start)
    start = thing(facts, "yards", yard) if yard else facts.names.called("tracks", entry.start)
    tracks = list(entry.over)
    if len(tracks) > 1 and tracks[0] == entry.start:
        del tracks[0]
    if entry.ends_at in facts.layout.yards:
        goal = thing(facts, "yards", entry.ends_at)
    else:
        goal = facts.names.called("tracks", tracks.pop()) if tracks else entry.ends_at
    way = f" over {listed(tracks, 'and')}" if tracks else ""
    return f"from {start}{way} to {goal}"


def goal_of(facts: Facts, route: int) -> str:
    """Return the id of the track to which a route leads, or ``yard ID``."""
    entry = describe_route(facts, route)
    if entry.ends_at in facts.layout.yards:
        return f"yard {entry.ends_at}"
    return entry.over[-1] if entry.over else entry.ends_at


def elements_met(facts: Facts, routes: list[int]) -> list[str]:
    """Return the points, crossings and turntables of some routes, in their order on the way."""
    places = (facts.network.place(s) for route in routes for s in facts.routes.all[route].path)
    return some_names(p.id for p in places if p.kind not in ("section", "yards"))


def barred_beyond(facts: Facts, head: int) -> list[str]:
    """Return the tracks beyond a head whose ``running`` bars the way of its trains."""
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


def barred_in_words(barred: list[str]) -> str:
    """Return a sentence on the tracks that bar the way, empty if there are none."""
    names = names_in_words(barred, "or")
    return f" Beyond it, trains may not run that way on {names}." if barred else ""


def clash_in_words(facts: Facts, head: int) -> str:
    """Return a sentence on points worked together that bar a route, empty if none do."""
    clash = facts.first_clash.get(head)
    if clash is None:
        return ""
    first, second = (facts.network.places[p].id for p in (clash.first, clash.second))
    return (
        f" It would need {first} {clash.lies[0]} and {second} {clash.lies[1]}, but they are worked "
        "together."
    )
