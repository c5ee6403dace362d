"""The routes for which each arm gives leave, and their order from left to right."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.interlocking.routes import Routes
    from trappoint.model.layout import Arm, ArmKind, Head, Layout
    from trappoint.topology.network import Network

GIVING_LEAVE: tuple[ArmKind, ...] = ("stop", "calling-on", "shunt")
"""The kinds of arm that give leave for routes. A calling-on arm gives leave for main routes, as the
stop arm above it does, but to run up to another train."""

MAX_SPOKEN = 200_000
"""Most routes for which all arms of a plan together give leave."""


class Assignment:
    """The arms that give leave, with their routes."""

    arms: list[Arm]
    """Every arm that gives leave, in the order of the plan."""
    head_of: list[int]
    """The head of each of these arms; -1 for a calling-on arm without a stop arm."""
    routes_of: list[tuple[int, ...]]
    """The routes of each of these arms."""
    unresolved: list[int]
    """The arms without ``to`` whose routes have no order from left to right."""
    speaking: dict[int, list[int]]
    """From each route to its arms, calling-on arms included."""
    cut: bool
    """Whether the arms give leave for too many routes; then some arms have none here."""

    def __init__(self) -> None:
        self.arms = []
        self.head_of = []
        self.routes_of = []
        self.unresolved = []
        self.speaking = {}
        self.cut = False

    def arms_for(self, route: int, *, calling_on: bool = False) -> list[int]:
        """Return the arms that give leave for a route; calling-on arms only with ``calling_on``."""
        return [
            number
            for number in self.speaking.get(route, ())
            if calling_on or self.arms[number].kind != "calling-on"
        ]


def assign_routes(layout: Layout, network: Network, routes: Routes) -> Assignment:
    """Give every arm its routes: by its ``to``, or from left to right."""
    found: dict[tuple[str, int], tuple[int, tuple[int, ...] | None]] = {}
    result = Assignment()
    room = MAX_SPOKEN
    roads = _RoadIndex(layout, network, routes)
    for number, head in enumerate(network.heads):
        for kind in GIVING_LEAVE:
            own = routes.of_kind(number, shunting=kind == "shunt")
            if len(head.arms) * len(own) > room and _all_spoken(head, kind, own) > room:
                result.cut = True
                continue
            for arm, speaks in _speak(roads, head, kind, own):
                found[arm.signal, arm.position] = number, speaks
                room -= len(speaks or ())
    for arm in layout.arms():
        if arm.kind in GIVING_LEAVE:
            # A calling-on arm alone on its post has no head that holds a train.
            head_number, given = found.get((arm.signal, arm.position), (-1, ()))
            if given is None:
                result.unresolved.append(len(result.arms))
            result.arms.append(arm)
            for route in given or ():
                result.speaking.setdefault(route, []).append(len(result.head_of))
            result.head_of.append(head_number)
            result.routes_of.append(given or ())
    return result


def _all_spoken(head: Head, kind: ArmKind, own: list[int]) -> int:
    """Return the most routes that the arms of one kind may have, added up over the arms."""
    arms = head.arms_of(kind)
    aimed = sum(bool(arm.to) or kind == "calling-on" for arm in arms)
    return (aimed + 1) * len(own)


class _RoadIndex:
    """An index from tracks, platforms and yards to the routes that run over them."""

    def __init__(self, layout: Layout, network: Network, routes: Routes) -> None:
        self.layout = layout
        self.network = network
        self.routes = routes
        self._own: list[int] = []
        self._over: dict[str, set[int]] = {}
        self._yards_of: dict[str, list[str]] = {}
        for yard in layout.yards.values():
            for track in yard.tracks:
                self._yards_of.setdefault(track, []).append(yard.id)

    def over_all(self, own: list[int], to: tuple[str, ...]) -> tuple[int, ...]:
        """Return the routes of a head that run over everything in ``to``."""
        if own is not self._own:
            self._own, self._over = own, {}
            places = self.network.places
            for route in own:
                for place in self.routes.all[route].places:
                    if places[place].kind == "yards":
                        self._over.setdefault(places[place].id, set()).add(route)
                    for piece in self.network.pieces.get(place, ()):
                        self._over.setdefault(piece.track, set()).add(route)
        left: set[int] | None = None
        for name in to:
            over = self._running_over(name)
            left = over if left is None else left & over
        return tuple(sorted(left or ()))

    def _running_over(self, name: str) -> set[int]:
        if name in self.layout.tracks:
            tracks: tuple[str, ...] = (name,)
        elif name in self.layout.platforms:
            tracks = self.layout.platforms[name].tracks
        else:
            tracks = ()
        found: set[int] = set()
        for track in tracks:
            for place in (track, *self._yards_of.get(track, ())):
                found |= self._over.get(place, set())
        if name in self.layout.yards:
            found |= self._over.get(name, set())
        return found


def _speak(
    roads: _RoadIndex, head: Head, kind: ArmKind, own: list[int]
) -> list[tuple[Arm, tuple[int, ...] | None]]:
    """Return each arm of one kind with its routes; None if the plan does not determine them."""
    arms = head.arms_of(kind)
    result: list[tuple[Arm, tuple[int, ...] | None]] = []
    above: dict[str, tuple[int, ...] | None] = {}
    if kind == "calling-on" and any(not arm.to for arm in arms):
        # Without `to`, it has the routes of the stop arm above it.
        above = {arm.id: speaks for arm, speaks in reversed(_speak(roads, head, "stop", own))}
    in_order = len(arms) == len(own) and told_apart(roads.network, roads.routes, own)
    for position, arm in enumerate(arms):
        if not arm.to and arm.under and arm.under in above:
            result.append((arm, above[arm.under]))
        elif arm.to:
            result.append((arm, roads.over_all(own, arm.to)))
        elif len(arms) == 1:
            result.append((arm, tuple(own)))
        elif in_order:
            result.append((arm, (own[position],)))
        else:
            result.append((arm, None))
    return result


def left_to_right(network: Network, routes: Routes, one: int, other: int) -> int:
    """Return whether the driver sees one route to the left (-1) or right (1) of another.

    Return 0 if the routes part at a slip, a turntable or a yard, whose sides a plan does not give.
    """
    first, second = routes.all[one].path, routes.all[other].path
    for step, (left, right) in enumerate(zip(first, second, strict=False)):
        if left == right:
            continue
        before = first[step - 1] if step else network.held_at[routes.all[one].head]
        if network.way[before] != "toe" or network.place(before).kind != "points":
            return 0
        order = [exit_.to for exit_ in network.exits[before]]
        return -1 if order.index(left) < order.index(right) else 1
    return 0


def told_apart(network: Network, routes: Routes, own: list[int]) -> bool:
    """Return whether the routes of a head have one order from left to right."""
    return all(left_to_right(network, routes, one, other) != 0 for one, other in pairwise(own))
