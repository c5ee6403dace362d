"""Routes: the ways for which a signal can give leave.

A stop arm gives leave for main routes. A main route runs from its signal to the next stop signal
that faces the same way, to the end of the track, to a limit, or into a yard. It has every place on
its way, and needs each of its points in one lie. The shunt signals that it passes must be off too.
A shunt arm gives leave for shunt routes, which end at the next signal of either kind.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.model.layout import lie_word

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.model.layout import Head, Layout
    from trappoint.topology.network import Exit, Network

MAX_ROUTES = 4096
"""Most routes of a signal; more are a finding."""

MAX_STEPS = 400_000
"""Most moves to try for one signal; after them it has too many routes."""

MAX_STEPS_OF_ALL = 1_000_000
"""Most moves to try for all signals of a plan together."""

MAX_ROOM = 1_500_000
"""Most room for all routes of a plan: a route takes one for each place, and ten more."""


class Route(NamedTuple):
    """One route of one head."""

    head: int
    path: tuple[int, ...]
    """The states on the way in order, the last one included."""
    places: frozenset[int]
    lies: Mapping[int, str]
    """From the place of each points or slip on the way to its lie."""
    needs: Mapping[int, str]
    """From the number of each lever (see ``LeverGroups``) to its lie or lever word."""
    shunting: bool
    """Whether it is a shunt route."""
    past: tuple[int, ...]
    """The heads of the shunt signals that it passes."""
    needs_arm: bool
    """False if it needs no arm: a route into a drag, or a main route to a limit at which no train
    may stand, if its signal has other routes."""
    against: int
    """The head back to back with its own, whose routes run the other way; -1 for none."""


class LieClash(NamedTuple):
    """A path that cannot be set: it needs two switches of one lever in different positions."""

    head: int
    first: int
    second: int
    """The places of the two switches."""
    lies: tuple[str, str]


class LeverGroups(NamedTuple):
    """The switches of each lever. Switches worked together share a lever."""

    lever_of: dict[int, int]
    """From the place of each switch to the number of its lever (the first place of its group)."""
    members: dict[int, list[int]]
    words: dict[tuple[int, str], str]
    """From a switch and its lie to the lever word; a switch with its own lever has no entry."""
    traps: dict[int, str]
    """From each lever of trap points to its normal word."""

    def word(self, place: int, lie: str) -> str:
        """Return the lever word for this lie."""
        return self.words.get((place, lie), lie)


class Routes:
    """All routes of a plan."""

    all: list[Route]
    of_head: list[list[int]]
    """The numbers of each head's routes: first main, then shunt routes, each from left to right if
    they part at points."""
    overflowed_heads: dict[int, None]
    """Heads with too many routes; they have none here."""
    untried: int | None
    """The first head that was not tried, because all routes together are too many; this head and
    the later ones overflow too. None if all heads were tried."""
    clashes: dict[LieClash, None]
    """Paths that cannot be set, each once, in the order of the search."""
    having: list[list[int]]
    """The numbers of the routes over each place."""

    def __init__(self, having: list[list[int]]) -> None:
        self.all = []
        self.of_head = []
        self.overflowed_heads = {}
        self.untried = None
        self.clashes = {}
        self.having = having

    def of_kind(self, head: int, *, shunting: bool) -> list[int]:
        """Return the numbers of a head's main or shunt routes, without those that need no arm."""
        return [
            number
            for number in self.of_head[head]
            if self.all[number].shunting is shunting and self.all[number].needs_arm
        ]


def group_switches(layout: Layout, network: Network) -> LeverGroups:
    """Return the levers of all switches. Groups ``worked_together`` that share a member are one.

    Switches inside yards are no places, but they link their groups.
    """
    parent = {switch: switch for switch in (*layout.points, *layout.crossings)}

    def root(switch: str) -> str:
        while parent[switch] != switch:
            parent[switch] = parent[parent[switch]]
            switch = parent[switch]
        return switch

    for group in layout.worked_together:
        for member in group[1:]:
            parent[root(member)] = root(group[0])
    groups: dict[str, list[int]] = {}
    for number, place in enumerate(network.places):
        if place.kind in ("points", "crossings"):
            groups.setdefault(root(place.id), []).append(number)
    members = {places[0]: places for places in groups.values()}
    trapping = {root(points.id) for points in layout.points.values() if points.trap}
    traps: dict[int, str] = {}
    words: dict[tuple[int, str], str] = {}
    for places in members.values():
        for place_number in places if len(places) > 1 else ():
            switch = layout.switch(network.places[place_number].id)
            if switch is not None:
                words.update({(place_number, lie): lie_word(switch, lie) for lie in switch.lies})
    for lever, places in members.items():
        first = layout.switch(network.places[lever].id)
        if first is not None and first.normal and root(first.id) in trapping:
            traps[lever] = "normal" if len(places) > 1 else first.normal
    lever_of = {place: lever for lever, places in members.items() for place in places}
    return LeverGroups(lever_of, members, words, traps)


def derive_routes(network: Network, together: LeverGroups) -> Routes:
    """Derive the routes of every head, in the order of the heads."""
    found = Routes([[] for _ in network.places])
    roads = {
        shunting: _RoadEnds(network, shunting)
        for shunting in dict.fromkeys(kind for head in network.heads for kind in _kinds(head))
    }
    room, steps = MAX_ROOM, MAX_STEPS_OF_ALL
    for head in range(len(network.heads)):
        if room <= 0 or steps <= 0:
            found.untried = head if found.untried is None else found.untried
            found.overflowed_heads[head] = None
            found.of_head.append([])
            continue
        routes: list[Route] | None = []
        # A plan with such a signal gets no verdict, so the search tries less for the others.
        limit = MAX_STEPS if not found.overflowed_heads else MAX_STEPS // 100
        for shunting in _kinds(network.heads[head]):
            walk = _RouteWalk(network, together, head, roads[shunting], found.clashes)
            more = walk.routes(limit, room)
            steps -= walk.steps + walk.states_found // 2
            if more is not None and not shunting:
                more = _without_dead_ends(network, more)
            routes = None if routes is None or more is None else routes + more
        if routes is None:
            found.overflowed_heads[head] = None
            found.of_head.append([])
            continue
        room -= sum(len(route.path) + 10 for route in routes)
        found.of_head.append(list(range(len(found.all), len(found.all) + len(routes))))
        found.all += routes
    for number, route in enumerate(found.all):
        for place in route.places:
            found.having[place].append(number)
    return found


def _kinds(head: Head) -> list[bool]:
    """Return the kinds of route of a head: False for main, True for shunt routes."""
    return [False] * head.stops + [True] * head.shunts


def _without_dead_ends(network: Network, routes: list[Route]) -> list[Route]:
    """Return the routes; those to a limit at which no train may stand need no arm.

    A limit of shunt is for shunting (common practice, no source). If a signal has only such routes,
    its stop arm gives leave for them.
    """
    place_of = network.place_of
    ends = [
        not network.limit[route.path[-1]] or place_of[route.path[-1]] in network.stand_at
        for route in routes
    ]
    if not any(end and route.needs_arm for end, route in zip(ends, routes, strict=True)):
        return routes
    return [
        route if end else route._replace(needs_arm=False)
        for end, route in zip(ends, routes, strict=True)
    ]


class _RoadEnds:
    """The states at which routes of one kind may end, and the states that lead to them."""

    def __init__(self, network: Network, shunting: bool) -> None:
        self.shunting = shunting
        states = range(len(network.place_of))
        self.ends = [_ends_route(network, state, shunting) for state in states]
        self.leads_on = _leading_on(network, shunting, self.ends)


def _leading_on(network: Network, shunting: bool, ends: list[bool]) -> list[bool]:
    """Return for each state whether a path from it leads to an end of a route.

    So the search never walks a path that leads nowhere.
    """
    good = list(ends)
    before: list[list[int]] = [[] for _ in good]
    for state, exits in enumerate(network.exits):
        for exit_ in exits:
            if exit_.head < 0 or not (shunting or network.heads[exit_.head].stops):
                before[exit_.to].append(state)
    waiting = [state for state, ends_here in enumerate(ends) if ends_here]
    while waiting:
        for state in before[waiting.pop()]:
            if not good[state]:
                good[state] = True
                waiting.append(state)
    return good


def _ends_route(network: Network, state: int, shunting: bool) -> bool:
    facing = network.facing[state]
    if facing >= 0 and (shunting or network.heads[facing].stops):
        return True
    return network.terminal[state] or network.limit[state] or network.place(state).kind == "yards"


class _RouteWalk:
    """A search along every path from one head, depth first and from left to right."""

    def __init__(
        self,
        network: Network,
        together: LeverGroups,
        head: int,
        roads: _RoadEnds,
        clashes: dict[LieClash, None],
    ) -> None:
        self.network = network
        self.together = together
        self.head = head
        self.roads = roads
        self.leads_on = roads.leads_on
        self.clashes = clashes
        self.path: list[int] = []
        self.on_path: set[int] = set()
        self.lies: dict[int, str] = {}
        self.needs: dict[int, str] = {}
        self.steps = 0
        """The number of moves tried."""
        self.states_found = 0
        """The number of states of all routes found."""
        self.first_of: dict[int, int] = {}
        """From each needed lever to the switch on the path that set it."""
        self.undo: list[tuple[int, int]] = []
        """The switch and the lever that each step of the path set; -1 for none."""

    def routes(self, most_steps: int, room: int) -> list[Route] | None:
        """Return the routes of the head; None if there are too many."""
        network, ends = self.network, self.roads.ends
        found: list[Route] = []
        pending = [iter(network.starts(self.head))]
        while pending:
            exit_ = next(pending[-1], None)
            if exit_ is None:
                pending.pop()
                if self.path:
                    self._step_back()
                continue
            self.steps += 1
            if self.steps > most_steps:
                return None
            if not self._step(exit_):
                continue
            if ends[exit_.to]:
                found.append(self._route())
                room -= len(self.path)
                self.states_found += len(self.path)
                if len(found) > MAX_ROUTES or room < 0:
                    return None
                self._step_back()
            else:
                pending.append(iter(network.exits[exit_.to]))
        return found

    def _step(self, exit_: Exit) -> bool:
        """Take one move; return False if the path cannot go on there."""
        if exit_.to in self.on_path or not self.leads_on[exit_.to]:
            return False
        switch = set_lever = -1
        if exit_.element >= 0:
            lever = self.together.lever_of[exit_.element]
            word = self.together.word(exit_.element, exit_.lie)
            needed = self.needs.get(lever)
            if needed is not None and needed != word:
                self._note_clash(exit_, lever)
                return False
            if exit_.element not in self.lies:
                switch = exit_.element
                self.lies[switch] = exit_.lie
                if needed is None:
                    set_lever = lever
                    self.needs[lever] = word
                    self.first_of[lever] = switch
        self.path.append(exit_.to)
        self.on_path.add(exit_.to)
        self.undo.append((switch, set_lever))
        return True

    def _step_back(self) -> None:
        self.on_path.discard(self.path.pop())
        switch, lever = self.undo.pop()
        if switch >= 0:
            del self.lies[switch]
        if lever >= 0:
            del self.needs[lever], self.first_of[lever]

    def _note_clash(self, exit_: Exit, lever: int) -> None:
        if exit_.element in self.lies:
            return
        other = self.first_of[lever]
        lies = self.lies[other], exit_.lie
        self.clashes[LieClash(self.head, other, exit_.element, lies)] = None

    def _route(self) -> Route:
        place_of, facing = self.network.place_of, self.network.facing
        return Route(
            self.head,
            tuple(self.path),
            frozenset(place_of[state] for state in self.path),
            dict(self.lies),
            dict(self.needs),
            self.roads.shunting,
            tuple(facing[state] for state in self.path[:-1] if facing[state] >= 0),
            self.network.place_of[self.path[-1]] not in self.network.drags,
            self.network.opposed[self.head],
        )
