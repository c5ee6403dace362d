"""Which arm speaks for which routes, and in what order the roads lie before the driver."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.layout import Arm, Layout
    from trappoint.network import Network
    from trappoint.routes import Routes


@dataclass(slots=True)
class Assignment:
    """Who speaks for what."""

    arms: list[Arm] = field(default_factory=list)
    """Every stop arm, in the order of the plan."""
    head_of: list[int] = field(default_factory=list)
    """The head of each of them."""
    routes_of: list[tuple[int, ...]] = field(default_factory=list)
    """The routes that each speaks for."""
    silent: list[int] = field(default_factory=list)
    """Arms without ``to`` whose routes can not be told from left to right."""


def assign_routes(layout: Layout, network: Network, routes: Routes) -> Assignment:
    """Give every stop arm its routes, by ``to`` or from left to right (design of the format)."""
    result = Assignment()
    by_arm: dict[tuple[str, int], tuple[int, tuple[int, ...]]] = {}
    silent: set[tuple[str, int]] = set()
    for head_number, head in enumerate(network.heads):
        own = routes.of_head[head_number]
        for position, arm in enumerate(head.stop_arms):
            speaks: tuple[int, ...]
            if arm.to:
                speaks = tuple(r for r in own if runs_over(layout, network, routes, r, arm.to))
            elif len(head.stop_arms) == 1:
                speaks = tuple(own)
            elif len(head.stop_arms) == len(own) and told_apart(network, routes, own):
                speaks = (own[position],)
            else:
                speaks = ()
                silent.add((arm.signal, arm.index))
            by_arm[arm.signal, arm.index] = head_number, speaks
    for arm in layout.arms():
        key = arm.signal, arm.index
        if key in by_arm:
            if key in silent:
                result.silent.append(len(result.arms))
            result.arms.append(arm)
            result.head_of.append(by_arm[key][0])
            result.routes_of.append(by_arm[key][1])
    return result


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
            if name not in met and not _in_yard(layout, name, met):
                return False
        elif name in layout.platforms:
            tracks = layout.platforms[name].tracks
            if not any(t in met or _in_yard(layout, t, met) for t in tracks):
                return False
        elif name not in met:
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
    return all(
        left_to_right(network, routes, one, other) != 0
        for one, other in pairwise(own)
    )
