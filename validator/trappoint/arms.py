"""Which arm speaks for which routes, and in what order the roads lie before the driver."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.layout import Arm, ArmKind, Head, Layout
    from trappoint.network import Network
    from trappoint.routes import Routes

GIVING_LEAVE: tuple[ArmKind, ...] = ("stop", "calling-on", "shunt")
"""The kinds of arm that give leave for routes. A calling-on arm speaks for main routes, as the stop
arm above it does, but for a train that is to run up to another one."""


@dataclass(slots=True)
class Assignment:
    """Who speaks for what."""

    arms: list[Arm] = field(default_factory=list)
    """Every arm that gives leave, in the order of the plan."""
    head_of: list[int] = field(default_factory=list)
    """The head of each of them; -1 for a calling-on arm where no stop arm is."""
    routes_of: list[tuple[int, ...]] = field(default_factory=list)
    """The routes that each speaks for."""
    silent: list[int] = field(default_factory=list)
    """Arms without ``to`` whose routes can not be told from left to right."""

    def speakers(self, route: int, *, calling_on: bool = False) -> list[int]:
        """Return the arms that speak for a route, calling-on arms only where asked for."""
        return [
            number
            for number, routes in enumerate(self.routes_of)
            if route in routes and (calling_on or self.arms[number].kind != "calling-on")
        ]


def assign_routes(layout: Layout, network: Network, routes: Routes) -> Assignment:
    """Give every arm its routes, by ``to`` or from left to right (design of the format)."""
    found: dict[tuple[str, int], tuple[int, tuple[int, ...] | None]] = {}
    for number, head in enumerate(network.heads):
        for kind in GIVING_LEAVE:
            own = routes.of_kind(number, shunting=kind == "shunt")
            for arm, speaks in _speak(layout, network, routes, head, kind, own):
                found[arm.signal, arm.index] = number, speaks
    result = Assignment()
    for arm in layout.arms():
        if arm.kind in GIVING_LEAVE:
            # A calling-on arm alone on its post has no head that holds a train.
            head_number, given = found.get((arm.signal, arm.index), (-1, ()))
            if given is None:
                result.silent.append(len(result.arms))
            result.arms.append(arm)
            result.head_of.append(head_number)
            result.routes_of.append(given or ())
    return result


def _speak(
    layout: Layout, network: Network, routes: Routes, head: Head, kind: ArmKind, own: list[int]
) -> list[tuple[Arm, tuple[int, ...] | None]]:
    """Return what each arm of one kind speaks for; None where the plan does not tell."""
    arms = head.arms_of(kind)
    result: list[tuple[Arm, tuple[int, ...] | None]] = []
    for position, arm in enumerate(arms):
        to = arm.to
        if not to and kind == "calling-on":
            above = next((a for a in head.arms_of("stop") if a.id == arm.under), None)
            if above is not None:
                result.append((arm, _as_above(layout, network, routes, head, above, own)))
                continue
        if to:
            speaks = tuple(r for r in own if runs_over(layout, network, routes, r, to))
            result.append((arm, speaks))
        elif len(arms) == 1:
            result.append((arm, tuple(own)))
        elif len(arms) == len(own) and told_apart(network, routes, own):
            result.append((arm, (own[position],)))
        else:
            result.append((arm, None))
    return result


def _as_above(
    layout: Layout, network: Network, routes: Routes, head: Head, above: Arm, own: list[int]
) -> tuple[int, ...] | None:
    """Return what the stop arm above a calling-on arm speaks for."""
    for arm, speaks in _speak(layout, network, routes, head, "stop", own):
        if arm.index == above.index:
            return speaks
    return None


def runs_over(
    layout: Layout, network: Network, routes: Routes, route: int, to: tuple[str, ...]
) -> bool:
    """Tell whether a route runs over all that ``to`` lists: tracks, platforms, or yards."""
    met = {
        network.places[place].id
        for place in routes.all[route].places
        if network.places[place].kind in ("section", "yards")
    }
    for name in to:
        if name in layout.tracks:
            tracks: tuple[str, ...] = (name,)
        elif name in layout.platforms:
            tracks = layout.platforms[name].tracks
        else:
            tracks = ()
        over = any(track in met or _in_yard(layout, track, met) for track in tracks)
        if not over and not (name in layout.yards and name in met):
            return False
    return True


def _in_yard(layout: Layout, track: str, met: set[str]) -> bool:
    return any(track in yard.tracks and yard.id in met for yard in layout.yards.values())


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
    """Tell whether the routes of a head have one order from left to right."""
    return all(left_to_right(network, routes, one, other) != 0 for one, other in pairwise(own))
