"""The game: the acts of one train, and the claims by which trains bar each other's acts.

A train has *claims*: its place, the places still promised to it, the lies of the groups under it
and of those on its route, and the route. Each act lists the claims that bar it. A train may do an
act if no other train has one of these claims.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from oracle.ground import Ground, Move, Route, Spot

Step = dict[str, Any]
Claim = tuple[str, ...]


class Train(NamedTuple):
    """A train: its spot, the rest of its route, and the number of the route.

    `lie` is the lie of the points or slip under a train without a route; None elsewhere.
    """

    spot: Spot
    ahead: tuple[Spot, ...] = ()
    route: int | None = None
    lie: str | None = None

    @property
    def place(self) -> str:
        return self.spot[0]

    @property
    def promised(self) -> frozenset[str]:
        """The places still promised to it; a place behind the train is free again."""
        return frozenset(place for place, _ in self.ahead)


OUTSIDE = Train(("", "outside"))
OFF_THE_LINE = Train(("", "off the line"))


class Act(NamedTuple):
    """One act of a train, and the train after it.

    `needs` holds the places that must be free, `barred` the claims of other trains that exclude
    the act.
    """

    step: Step
    after: Train
    needs: frozenset[str] = frozenset()
    barred: frozenset[Claim] = frozenset()

    def allowed(self, claims: frozenset[Claim]) -> bool:
        """Return whether the act is allowed while other trains have these claims."""
        return self.barred.isdisjoint(claims)


def start_of(place: str | None) -> Train:
    """A train outside, or standing in a stand with no heading yet."""
    return OUTSIDE if place is None else Train((place, ""))


def claims(ground: Ground, train: Train) -> frozenset[Claim]:
    """Return the claims of a train; none for a train off the plan."""
    if train.place == "":
        return frozenset()
    found: set[Claim] = {("place", place) for place in (train.place, *train.promised)}
    if train.lie is not None:
        group = ground.group_of[train.place]
        found.add(("lie", group, ground.elements.word(train.place, train.lie)))
    if train.route is not None:
        found.add(("route", str(train.route)))
        words = ground.all_routes[train.route].words
        found |= {("lie", group, word) for group, word in words.items()}
    return frozenset(found)


def steps_of(ground: Ground, train: Train) -> Iterator[Act]:
    """Yield every act of a train, with the claims of others that would bar it."""
    if train == OUTSIDE:
        for edge, spot in ground.come_on:
            step = {"do": "come-on", "edge": edge, "to": spot[0]}
            yield Act(step, Train(spot), frozenset((spot[0],)), _busy((spot[0],)))
        return
    if train.spot in ground.leave:
        yield Act({"do": "leave"}, OUTSIDE)
    yield from acts(ground, train)


def acts(ground: Ground, train: Train) -> Iterator[Act]:
    """Yield the acts of a train on the plan: set off, take a route, run."""
    for heading in ground.stands.get(train.place, ()):
        yield Act({"do": "set-off", "heading": heading or None}, Train((train.place, heading)))
    if train.ahead:
        yield _run_on(ground, train)
        return
    for route in ground.routes_at.get(train.spot, ()):
        yield _take(ground, train, route)
    for way in ground.ways_out.get(train.spot, ()):
        if way.head is None:
            for move in way.moves:
                if train.lie in (None, move.lie):
                    yield from _run_free(ground, move)


def _run_on(ground: Ground, train: Train) -> Act:
    spot, *ahead = train.ahead
    step = {"do": "run", "to": spot[0]}
    if ahead:
        return Act(step, train._replace(spot=spot, ahead=tuple(ahead)))
    derails = train.route is not None and ground.all_routes[train.route].derails
    return Act(step, OFF_THE_LINE if derails else Train(spot))


def _take(ground: Ground, train: Train, route: Route) -> Act:
    barred = _busy(route.places)
    for group, word in route.words.items():
        barred |= _other_lies(ground, group, word)
    barred |= {("route", str(number)) for number in ground.opposed[route.number]}
    return Act(
        {"do": "take", "signal": route.signal, "over": route.over},
        Train(train.spot, route.spots, route.number),
        route.places,
        barred,
    )


def _run_free(ground: Ground, move: Move) -> Iterator[Act]:
    """Yield the acts that run a train without a route to a spot.

    Points and slips give one act for each lie. Points that guard, met facing, lie only normal.
    """
    place, way_in = move.to
    step = {"do": "run", "to": place}
    if move.derails:
        yield Act(step, OFF_THE_LINE)
        return
    if place not in ground.group_of or way_in == "":
        yield Act(step, Train(move.to))
        return
    group = ground.group_of[place]
    guarded = group in ground.guards and ground.elements.is_facing(place, way_in)
    lies = {beyond.lie for way in ground.ways_out[move.to] for beyond in way.moves}
    for lie in sorted(lie for lie in lies if lie is not None):
        word = ground.elements.word(place, lie)
        if guarded and not ground.elements.is_normal(group, word):
            continue
        yield Act(step, Train(move.to, lie=lie), barred=_other_lies(ground, group, word))


def _busy(places: Any) -> frozenset[Claim]:
    return frozenset(("place", place) for place in places)


def _other_lies(ground: Ground, group: str, word: str) -> frozenset[Claim]:
    words = ground.elements.words(group)
    return frozenset(("lie", group, other) for other in words if other != word)
