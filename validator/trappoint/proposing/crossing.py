"""Trains that run freely into the route of another: condition 3 of the local test.

The finest plan shows whether the other train reaches its signal under every choice of the other
posts. If so, a collision depends only on that signal, the posts missing on the way, and the end of
the route.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.proposing.approaches import comes
from trappoint.proposing.need import NONE, TooManyRoads
from trappoint.proposing.splitting import SplitWay, come_to_end

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from trappoint.proposing.choice import Choice, Passing, Reach
    from trappoint.proposing.need import Need, Posts

MAX_LOOKS = 3_000_000
"""The greatest number of comparisons of free runs with routes for one choice."""

MAX_RESTS = 8
"""The greatest number of places in a free run at which a train may wait for the next train."""


def of_routes(choice: Choice, reaches: list[Reach]) -> Iterator[Need]:
    """Yield a need for each route that a free run enters."""
    having: dict[int, list[Passing]] = {}
    for passing in choice.passings if reaches else ():
        for place in passing.places:
            having.setdefault(place, []).append(passing)
    looks = 0
    for reach in reaches:
        touched: dict[int, Passing] = {}
        for place in reach.nearest:
            looks += len(having.get(place, ()))
            touched |= {passing.number: passing for passing in having.get(place, ())}
        if looks > MAX_LOOKS:
            raise TooManyRoads(choice.net.heads[0].signal)
        for passing in touched.values():
            need = _behind(choice, reach, passing)
            if need is None:
                need = _across(choice, reach, passing)
            if need is not None:
                yield need


# --- a train stands unheld while another has leave


def _across(choice: Choice, reach: Reach, passing: Passing) -> Need | None:
    """Yield needs: a train stands unheld, and another has leave to run across its way."""
    finest = choice.finest
    kept = choice.apart(reach.own, passing.places)
    apart = choice.apart(reach.own, (finest.net.place_of[passing.waits],))
    if kept is None or apart is None:
        return None
    region = finest.region(reach.own)
    # From an edge it comes on when the other is at its signal.
    sent_by = _comes(choice, passing, *((None, -1) if reach.edge else (region, region)))
    if sent_by is None:
        return None
    found = _runs_in(choice, reach, passing)
    if found is None:
        return None
    missing, standing = found
    signal = choice.ground.posts[passing.post].name
    stand = (*standing, *kept, *apart, *sent_by, passing.post)
    return choice.need(missing, stand, f"{reach.name} < {signal}")


def _comes(choice: Choice, passing: Passing, avoid: int | None, start: int) -> Posts | None:
    """Return the posts that a train needs to reach a route's signal; None if it cannot."""
    # Trains with a stop route do not end it at a shunt signal.
    stops = choice.net.heads[choice.routes.all[passing.number].head].stops
    return comes(choice, passing.waits, avoid, start, anywhere=stops)


def _runs_in(choice: Choice, reach: Reach, passing: Passing) -> tuple[Posts, Posts] | None:
    """Yield needs: the other train has leave and has not moved, and this one runs in before it."""
    net = choice.finest.net
    waits = net.place_of[passing.waits]
    goal = passing.places | {waits}
    walk = choice.walk({reach.start: NONE}, passing.needs, goal)
    if walk is None:
        walk = choice.walk(_rests(choice, reach, goal), passing.needs, goal)
    if walk is None:
        return None
    kept = choice.apart(net.place_of[walk.first], goal) or NONE
    into = net.place_of[walk.state]
    if into not in passing.places:
        return walk.missing, kept  # The other one is there still.
    at = next(n for n, state in enumerate(passing.states) if net.place_of[state] == into)
    regions = {choice.finest.region(net.place_of[s]) for s in (reach.start, walk.first)}
    ends = goes_on(choice, passing, regions, walk.lies)
    return walk.missing | passing.missing[at], kept | ends


def _rests(choice: Choice, reach: Reach, goal: frozenset[int]) -> dict[int, Posts]:
    """Return the states of a free run in which a train may wait, with the missing posts."""
    net = choice.finest.net
    return {
        state: missing
        for state, missing in reach.missing.items()
        if not net.is_element[net.place_of[state]]
        and choice.apart(net.place_of[state], goal) is not None
    }


# --- a train waits ahead, while another has leave to come where it came from


def _behind(choice: Choice, reach: Reach, passing: Passing) -> Need | None:
    """Yield needs: a train has run on, and another enters its stand and follows it."""
    if reach.edge or reach.own not in passing.places:
        return None
    finest = choice.finest
    net = finest.net
    waits = net.place_of[passing.waits]
    apart = choice.apart(reach.own, (waits,))
    if apart is None:
        return None
    ahead = [
        place
        for place in reach.nearest
        if not net.is_element[place] and net.places[place].kind != "yards"
    ]
    ahead.sort(key=lambda place: len(reach.missing[reach.nearest[place]]))
    for place in ahead[:MAX_RESTS]:
        kept = choice.apart(place, passing.places | {waits})
        region = finest.region(place)
        sent_by = _comes(choice, passing, region, finest.region(reach.own))
        if kept is None or sent_by is None:
            continue
        at = next(n for n, state in enumerate(passing.states) if net.place_of[state] == reach.own)
        ends = goes_on(choice, passing, {region})
        signal = choice.ground.posts[passing.post].name
        return choice.need(
            reach.missing[reach.nearest[place]] | passing.missing[at],
            (*kept, *apart, *ends, *sent_by, passing.post),
            f"{signal} > {reach.name} > {net.places[place].name}",
        )
    return None


# --- where routes end


def goes_on(
    choice: Choice,
    passing: Passing,
    avoid: Collection[int],
    lies: Collection[tuple[int, str]] = (),
) -> Posts:
    """Return the posts that must stand for a route to exist, as far as they matter.

    The result is empty if the route can continue to another end under every choice of posts,
    outside the regions ``avoid`` and with the lies ``lies``: its beginning is then always the same.
    """
    ends = _one_of(choice, passing.ends)
    if not choice.free(ends):
        return NONE
    needs = dict(passing.needs)
    if all(needs.setdefault(lever, word) == word for lever, word in lies):
        shunting = choice.routes.all[passing.number].shunting
        places = choice.finest.places_in(avoid)
        way = SplitWay(passing.states[-1], frozenset(passing.states), needs, NONE)
        if come_to_end(choice.finest, way, passing.waits, places, shunting=shunting):
            return NONE
    return frozenset(ends)


def _one_of(choice: Choice, posts: tuple[int, ...]) -> tuple[int, ...]:
    """Return one of the posts that end a route, if possible one that stays."""
    standing = [number for number in posts if choice.standing[number]]
    stays = [number for number in standing if not choice.ground.posts[number].free]
    return tuple((stays or standing)[:1])
