"""Which arm speaks for which routes, and in what order the roads lie before the driver."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.interlocking.routes import Routes
    from trappoint.model.layout import Arm, ArmKind, Head, Layout
    from trappoint.topology.network import Network

GIVING_LEAVE: tuple[ArmKind, ...] = ("stop", "calling-on", "shunt")
"""The kinds of arm that give leave for routes. A calling-on arm speaks for main routes, as the stop
arm above it does, but for a train that is to run up to another one."""

MAX_SPOKEN = 200_000
"""The routes that all arms of a plan together may speak for."""


class Assignment:
    """Who speaks for what."""

    arms: list[Arm]
    """Every arm that gives leave, in the order of the plan."""
    head_of: list[int]
    """The head of each of them; -1 for a calling-on arm where no stop arm is."""
    routes_of: list[tuple[int, ...]]
    """The routes that each speaks for."""
    unresolved: list[int]
    """Arms without ``to`` whose routes cannot be told from left to right."""
    speaking: dict[int, list[int]]
    """From each route to the arms that speak for it, calling-on arms too."""
    cut: bool
    """True if the arms speak for too many routes: then some are left without any."""

    def __init__(self) -> None:
        self.arms = []
        self.head_of = []
        self.routes_of = []
        self.unresolved = []
        self.speaking = {}
        self.cut = False

    def arms_for(self, route: int, *, calling_on: bool = False) -> list[int]:
        """Return the arms that speak for a route, calling-on arms only where asked for."""
        return [
            number
            for number in self.speaking.get(route, ())
            if calling_on or self.arms[number].kind != "calling-on"
        ]


def assign_routes(layout: Layout, network: Network, routes: Routes) -> Assignment:
    """Give every arm its routes, by ``to`` or from left to right (design of the format)."""
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
    """Return for how many routes the arms of one kind might speak, each counted for itself."""
    arms = head.arms_of(kind)
    aimed = sum(bool(arm.to) or kind == "calling-on" for arm in arms)
    return (aimed + 1) * len(own)


class _RoadIndex:
    """What the routes of a plan run over, looked up from the other side: from what they meet."""

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
        """Return those of a head's routes that run over all that ``to`` lists."""
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
    """Return what each arm of one kind speaks for; None if the plan does not tell."""
    arms = head.arms_of(kind)
    result: list[tuple[Arm, tuple[int, ...] | None]] = []
    above: dict[str, tuple[int, ...] | None] = {}
    if kind == "calling-on" and any(not arm.to for arm in arms):
        # Without `to` it speaks for what the stop arm above it speaks for.
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
    """Compare two routes of one head by where the driver sees them part.

    -1 where the first lies to the left of the second, 1 to its right, 0 where the plan does not
    tell: they part at a slip, a turntable or a yard, whose sides the format does not name.
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
